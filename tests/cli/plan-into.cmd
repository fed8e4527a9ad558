# what stands in a procedure file is kept; what the plan knows is put in
printf '; ours\n[part]\nname = tricycle 7\nnominal_mm = 3.0 ; drawing\n\n[signal]\nmode = 2\n' >tube.ini
"$plyecho" plan --layer carbon:3.2 --layer glass:1 --delay-line pmma:10 --tube-diameter 28.6 --into tube.ini >plan.txt
cat tube.ini
"$plyecho" plan --layer z=4.65,v=3000,d=3.2 --delay-line pmma:10 --into new.ini >plan.txt
cat new.ini
echo nonsense >bad.ini
"$plyecho" plan --layer carbon:3.2 --into bad.ini; echo "$?"
cat bad.ini

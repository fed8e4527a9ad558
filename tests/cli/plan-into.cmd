# what stands in a procedure file is kept; what the plan knows is put in
printf '; ours\n[part]\nname = tricycle 7\nnominal_mm = 3.0 ; drawing\n\n[material]\nvelocity_m_s = 6420\nvelocity_u_m_s = 3\n[signal]\nmode = 2\n' >tube.ini
"$plyecho" plan --layer carbon:3.2 --layer glass:1 --delay-line pmma:10 --face-diameter 6 --couplant water --tube-diameter 28.6 --into tube.ini >plan.txt
cat tube.ini
# a velocity of the same material stays
printf '[material]\nmaterial = carbon\nvelocity_m_s = 2942\nvelocity_u_m_s = 9\n' >same.ini
"$plyecho" plan --layer carbon:3.2,a=0.2 --into same.ini >plan.txt
cat same.ini
"$plyecho" plan --layer z=4.65,v=3000,d=3.2 --delay-line pmma:10 --into new.ini >plan.txt
cat new.ini
echo nonsense >bad.ini
"$plyecho" plan --layer carbon:3.2 --into bad.ini; echo "$?"
cat bad.ini

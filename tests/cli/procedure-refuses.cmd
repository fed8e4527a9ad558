# an action that is not there, and options and files that an action does not heed
"$plyecho" procedure; echo "$?"
"$plyecho" procedure chek a.ini; echo "$?"
"$plyecho" procedure new a.ini; echo "$?"
"$plyecho" procedure check; echo "$?"
"$plyecho" procedure show; echo "$?"
"$plyecho" procedure show a.ini b.ini; echo "$?"
printf '[part]\nnominal_mm = 3\n' >a.ini
"$plyecho" procedure check -o b.ini a.ini; echo "$?"
"$plyecho" procedure show --date 2026-11-28 a.ini; echo "$?"
"$plyecho" procedure check --date 28.11.2026 a.ini; echo "$?"
"$plyecho" procedure new --layers 'carbon' -o c.ini; echo "$?"
"$plyecho" procedure new --velocity 2950 --velocity-u 3000 -o c.ini; echo "$?"
"$plyecho" procedure show "$traces/tricycle1-ring1.wav"; echo "$?"
ls

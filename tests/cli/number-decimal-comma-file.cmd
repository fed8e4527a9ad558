# numbers in and out do not depend on the locale
printf 'Zeit in us;Kanal 1\n0;0,25\n0,01;1,5\n0,02;-0,75\n0,03;0\n' >a.csv
"$plyecho" convert -q a.csv
"$plyecho" convert -q --sample-rate 12.5M a.csv | head -n 1
"$plyecho" convert --sample-rate 12,5M a.csv

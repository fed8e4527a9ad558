# a template reads as it stands, sets nothing, has every key, and never takes another file's place
"$plyecho" procedure new -o tube.ini; echo "status $?"
"$plyecho" procedure check --no-header --format csv tube.ini; echo "status $?"
"$plyecho" procedure show --format csv tube.ini | cut -d , -f 5 | sort | uniq -c | sed 's/ *[0-9]* //'
"$plyecho" procedure show --no-header --format csv tube.ini | cut -d , -f 2 | grep . >keys
sed -n 's/^;\([a-z_0-9]*\) = .*/\1/p' tube.ini | grep -vx carbon | diff keys - && echo all keys
# each example reads
sed 's/^;\([a-z_0-9]* = \)/\1/' tube.ini >all.ini
"$plyecho" procedure show --no-header --format csv all.ini | grep -v ',file,'
cp tube.ini before
"$plyecho" procedure new -o tube.ini; echo "status $?"
cmp before tube.ini
# options are set in it
"$plyecho" procedure new --nominal 3.2 --velocity 2942 --mode 2 --band 4M:16M --attenuation 0.1 --pulse 'a ; b.wav' --zero -0.5 \
    --layers 'paint = 0.1 mm, 2400 m/s, coat; carbon = 2 mm, u 0.1 mm, 10 to 20 deg; glass = 1.2 mm, 2800 m/s, u 5 m/s, 5.3 MRayl, 0.1 dB/mm/MHz, 0 to 110 mm' |
    tee made.ini | grep -v '^;' | grep =
"$plyecho" procedure show --no-header --format csv made.ini | grep ',file,' | cut -d , -f 2 | tr '\n' ' '; echo
"$plyecho" procedure new -o no/where.ini; echo "status $?"

# a broken file among good ones costs its own row only
small_csv >a.csv
small_wav 4000 >b.wav
: >c.csv
small_wav >d.wav
"$plyecho" inspect --format csv a.csv b.wav c.csv d.wav >table
status=$?
cut -d , -f 1-5 table
exit $status

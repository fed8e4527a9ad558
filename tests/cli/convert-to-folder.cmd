# a folder is made where the name ends in a slash; each file keeps its name, the ending follows
# the format
mkdir in
small_csv >in/a.csv
small_wav >in/b.WAV
small_csv >in/c.txt
small_wav >in/d.aiff
small_csv >in/plate.1
"$plyecho" convert -o out/ in/*
ls out
"$plyecho" convert --to wav -o wavs in/a.csv in/b.WAV
echo "status $?"
mkdir wavs
"$plyecho" convert --to wav -o wavs in/a.csv in/b.WAV
ls wavs

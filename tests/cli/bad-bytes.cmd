# what is no trace at all, whatever its name says
head -c 4000 /dev/zero >zeros.wav
awk 'BEGIN { srand(1); for (i = 0; i < 4000; i++) printf "%c", 128 + int(rand() * 127) }' >noise.vox
printf '\211PNG\r\n\032\n\0\0\0\015IHDR' >picture.csv
for file in noise.vox picture.csv zeros.wav; do
    "$plyecho" convert -o out.wav "$file"
    echo "$file: status $?"
done
ls -A

small_wav 4000 >lying-header.wav
small_wav | head -c 50 >cut-in-samples.wav
small_wav | head -c 20 >cut-in-header.wav
: >empty.wav
small_wav | head -c 46 >one-sample.wav
{ small_wav 2 | head -c 46; } >one-frame.wav
for file in *.wav; do
    "$plyecho" convert -o out.wav "$file"
    echo "$file: status $?"
done
ls -A

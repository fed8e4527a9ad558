for option in --sample-rate --sample-rate=0 --sample-rate=-1 --sample-rate=fast --sample-rate= \
    --velocity=3000m --velocity=1e999 --velocity=nan --velocity=0x10 \
    --to=mp3 --output= --quiet=yes; do
    "$plyecho" convert $option
    echo "status $?"
done
"$plyecho" convert --to csv --to wav

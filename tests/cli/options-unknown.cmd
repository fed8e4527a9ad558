# --sampel-rate is near --sample-rate, --shout and -x near nothing
for option in --sampel-rate=5 --shout -x --out; do
    "$plyecho" convert $option a.wav
    echo "status $?"
done

make() { "$plyecho" simulate --layer carbon:3.2,plies=16,film=0.005,scatter=0.03 --delay-line pmma:10 --snr 30 --bits 12 "$@"; }
make --seed 5 -o a.wav && make --seed 5 -o b.wav && make --seed 6 -o c.wav
cmp a.wav b.wav && echo same seed, same bytes
cmp -s a.wav c.wav || echo another seed, other bytes
make --seed 5 --channels 2 --to csv | grep '^# seed'

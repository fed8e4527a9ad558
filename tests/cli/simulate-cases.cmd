cat > ring.txt <<'END'
# two places of a ring
--label angle_deg=0
--label angle_deg=90 --gap-depth 1.2 --cover 0.4 --label "note=near the clamp"
END
"$plyecho" simulate --layer carbon:3.2 --delay-line pmma:10 --label part=tricycle-5 --cases ring.txt -o ring.wav
"$plyecho" convert --to csv ring.wav | grep '^# ' | grep -v _us
"$plyecho" simulate --layer carbon:3.2 --delay-line pmma:10 --label part=tricycle-5 --cases - -o piped.wav < ring.txt
cmp ring.wav piped.wav

small_wav >a.wav
"$plyecho" convert --to csv a.wav

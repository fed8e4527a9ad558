"$plyecho" --quiet convert a.wav

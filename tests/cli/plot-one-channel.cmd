# one channel of a ring, with the reference pulse that the procedure names
"$plyecho" plot --procedure "$traces/tricycle.ini" --channel 3 --script "$traces/tricycle3-ring2.wav" | grep -c 'delamination'
"$plyecho" plot --procedure "$traces/tricycle.ini" --channel 3 --script "$traces/tricycle1-ring1.wav" | grep -c 'no-indication'

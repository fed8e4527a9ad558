"$plyecho" convert -o out/ none.wav also/none.csv ''
status=$?
ls out
exit $status

"$plyecho" convrt a.wav
status=$?
"$plyecho" sharpen a.wav
exit $((10 * status + $?))

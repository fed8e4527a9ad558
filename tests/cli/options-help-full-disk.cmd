[ -w /dev/full ] || { echo 'no /dev/full here'; exit 77; }
"$plyecho" --help >/dev/full

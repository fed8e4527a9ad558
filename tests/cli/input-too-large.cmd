# a file of holes: it takes no disk
dd if=/dev/zero of=huge.wav bs=1 count=1 seek=1073741824 2>/dev/null ||
    { echo 'no room for a sparse file of 1 GiB'; exit 77; }
"$plyecho" convert --to csv huge.wav

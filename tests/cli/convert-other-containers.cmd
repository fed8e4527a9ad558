# an AU file: big-endian 16-bit samples; its name says nothing
{
    printf '.snd\0\0\0\030\0\0\0\010\0\0\0\003\005\365\341\0\0\0\0\001'
    printf '\0\0\100\0\200\0\100\0'
} >scan.csv
"$plyecho" convert --to csv scan.csv
"$plyecho" convert scan.csv | head -c 4

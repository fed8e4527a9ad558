# helpers.sh - what cases share; read ahead of each

# A CSV trace of eight samples at 100 MHz with labels, two channels.
small_csv()
{
    cat <<'END'
# sample_rate_hz: 100000000
# part: tricycle 7 steerer
# angle_deg[2]: 30
time_us,a,b
0,0,0.5
0.01,0.25,0.25
0.02,0.5,0
0.03,1,-0.25
0.04,0.5,-0.5
0.05,-0.25,-0.25
0.06,-0.5,0
0.07,0,0.25
END
}

# le16 N, le32 N: a number in two or four bytes, the least first
le16() { printf "\\$(printf %o $(($1 & 255)))\\$(printf %o $(($1 >> 8 & 255)))"; }
le32() { le16 $(($1 & 65535)); le16 $(($1 >> 16 & 65535)); }

# small_wav [DATA-BYTES]: a WAV of 16-bit samples at 100 MHz, one channel, eight samples; its header
# tells of DATA-BYTES of data (default: the truth, 16)
small_wav()
{
    stated=${1:-16}
    printf RIFF; le32 $((36 + stated)); printf WAVE
    printf 'fmt '; le32 16; le16 1; le16 1; le32 100000000; le32 200000000; le16 2; le16 16
    printf data; le32 "$stated"
    for sample in 0 8192 16384 32767 16384 57344 49152 0; do le16 $sample; done
}

# five_steps: traces s1.wav to s5.wav of carbon steps of 1 to 5 mm, and their table steps.csv
five_steps()
{
    echo file,channel,thickness_mm,thickness_u_mm >steps.csv
    for mm in 1 2 3 4 5; do
        "$plyecho" simulate --quiet --layer carbon:$mm --delay-line pmma:14 --probe 10M:0.6 --snr 40 \
            --seed $mm -o s$mm.wav
        echo s$mm.wav,1,$mm,0.002 >>steps.csv
    done
}

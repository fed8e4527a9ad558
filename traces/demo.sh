#!/bin/sh
# demo.sh PLYECHO FOLDER - the main job on the demonstration traces, with the commands shown
#
# PLYECHO is the built program; pictures come to FOLDER. Run by `make demo`.
set -eu

plyecho=$1
folder=$2
cd "${srcdir:-.}"

# show COMMAND-LINE: print it as a user would type it, and run it.
show()
{
    printf '\n$ %s\n' "$1"
    (
        plyecho()
        {
            "$plyecho" "$@"
        }
        eval "$1"
    )
}

say()
{
    printf '\n--- %s\n' "$*"
}

# Every place against the truth that was simulated.
score()
{
    {
        "$plyecho" assess --procedure traces/tricycle.ini --format csv --no-header \
            traces/tricycle1-ring* traces/tricycle3-ring* traces/tricycle4-ring* || :
        "$plyecho" assess --procedure traces/sleeve.ini --format csv --no-header \
            traces/tricycle2-ring* || :
    } | awk -F, '
        NR == FNR { truth["traces/" $1, $2] = $3; next }
        { places++; right += $3 == truth[$1, $2] }
        END {
            printf "\n--- %d of %d places judged as their truth in traces/truth.csv says\n", right, places
            exit right < places
        }' traces/truth.csv -
}

say 'Four tubes were read ring by ring. First: are the traces any good?'
show 'plyecho inspect traces/tricycle1-ring1.wav | head -n 4'

say 'Filters join by pipes: the echoes of one place, in the band of the probe'
show 'plyecho bandpass --band 4M:16M traces/tricycle3-ring3.wav | plyecho envelope |
    plyecho echoes --format csv | head -n 6'

say 'Thickness alone: places 4 to 6 look like a wall of half the thickness'
show 'plyecho thickness --procedure traces/tricycle.ini traces/tricycle3-ring2.wav'

say 'Verdicts. Tube 1, sound'
show 'plyecho assess --procedure traces/tricycle.ini traces/tricycle1-ring1.wav | grep ^trace'
say 'Tube 2, a sleeve of glass fibre glued inside: an echo, but the back wall keeps its own'
show 'plyecho assess --procedure traces/sleeve.ini traces/tricycle2-ring1.wav | grep ^trace'
say 'Tube 3, delaminated over part of its round'
show 'plyecho assess --procedure traces/tricycle.ini traces/tricycle3-ring2.wav | grep ^trace'
say 'What the third place of tube 3 rests on'
show 'plyecho assess --procedure traces/tricycle.ini traces/tricycle3-ring2.wav | sed -n "/wav *3 /,/^\$/p"'

say "Pictures, in $folder/"
mkdir -p "$folder"
for picture in 'tricycle.ini tricycle1-ring1.wav 1' 'sleeve.ini tricycle2-ring1.wav 1' \
    'tricycle.ini tricycle3-ring2.wav 3' 'tricycle.ini tricycle3-ring2.wav 5'; do
    # shellcheck disable=SC2086  # three words
    set -- $picture
    show "plyecho plot --procedure traces/$1 --channel $3 -o '$folder/${2%.wav}-place$3.png' traces/$2"
done

score

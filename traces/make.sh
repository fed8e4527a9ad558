#!/bin/sh
# Make the demonstration traces anew: traces/make.sh PLYECHO FOLDER
#
# PLYECHO is the built program. The traces and truth.csv come to FOLDER, which must exist. The
# scenario is told in README.md beside this script.
set -eu

plyecho=${1:?"usage: traces/make.sh PLYECHO FOLDER"}
folder=${2:?"usage: traces/make.sh PLYECHO FOLDER"}

# The tubes' laminate: 16 plies with resin of 4 um between them.
laminate='plies=16,film=0.004,scatter=0.03,film-scatter=0.3'
# A 10 MHz probe that rings down a little, on a delay line of PMMA; what the recorder is set to.
rig='--probe 10M:0.6 --tail 1.5 --phase 40 --delay-line pmma:10 --line-repeat 0.3'
recorder='--start 5 --samples 2048 --sample-rate 100M --full-scale 2.048 --bits 12'
# What spoils the traces: noise, drift, the initial pulse's tail, the probe's seat on the tube.
flaws='--level 1.8 --noise 0.006 --drift 0.008 --initial 3 --initial-fall 0.6 --front-jitter 0.6'

# place ANGLE VERDICT WORDS...: one position on a ring, as a line of a cases file
place()
{
    angle=$1 verdict=$2
    shift 2
    echo "$* --label angle_deg=$angle --label truth_verdict=$verdict"
}

# wall MM: the laminate of that thickness
wall()
{
    echo "--layer carbon:$1,$laminate"
}

# sleeved MM: the same with a sleeve of glass fibre, 1.1 mm, glued into it
sleeved()
{
    echo "$(wall "$1") --layer epoxy:0.12 --layer glass:1.1"
}

# ring FILE PART AXIAL_MM SEED: the cases on standard input become one file
ring()
{
    # word splitting is meant: each variable holds several words
    # shellcheck disable=SC2086
    "$plyecho" simulate $rig $recorder $flaws --seed "$4" --label part="$2" \
        --label axial_mm="$3" --label "position=ring at $3 mm" --label unit=V \
        --cases - -o "$folder/$1"
}

# shellcheck disable=SC2086
"$plyecho" simulate $rig $recorder --level 1.8 --noise 0.006 --initial 3 --initial-fall 0.6 \
    --seed 100 --uncoupled --label "part=end of the delay line in air" --label unit=V \
    -o "$folder/reference.wav"

{
    place 0 no-indication "$(wall 3.20)"
    place 45 no-indication "$(wall 3.23)"
    place 90 no-indication "$(wall 3.26)"
    place 135 no-indication "$(wall 3.24)"
    place 180 no-indication "$(wall 3.21)"
    place 225 no-indication "$(wall 3.17)"
    place 270 no-indication "$(wall 3.15)"
    place 315 no-indication "$(wall 3.17)"
} | ring tricycle1-ring1.wav tricycle1 40 200
{
    place 0 no-indication "$(wall 3.22)"
    place 45 no-indication "$(wall 3.25)"
    place 90 no-indication "$(wall 3.27)"
    place 135 no-indication "$(wall 3.24)"
    place 180 no-indication "$(wall 3.20)"
    place 225 no-indication "$(wall 3.18)"
    place 270 no-indication "$(wall 3.16)"
    place 315 no-indication "$(wall 3.18)"
} | ring tricycle1-ring2.wav tricycle1 90 300
{
    place 0 no-indication "$(wall 3.21)"
    place 90 no-indication "$(wall 3.25)"
    place 180 unreadable "$(wall 3.20) --uncoupled"
    place 270 no-indication "$(wall 3.15)"
} | ring tricycle1-ring3.csv tricycle1 140 400

{
    place 0 inner-echo "$(sleeved 3.19)"
    place 45 inner-echo "$(sleeved 3.21)"
    place 90 inner-echo "$(sleeved 3.24)"
    place 135 inner-echo "$(sleeved 3.25)"
    place 180 inner-echo "$(sleeved 3.22)"
    place 225 inner-echo "$(sleeved 3.20)"
    place 270 inner-echo "$(sleeved 3.18)"
    place 315 inner-echo "$(sleeved 3.17)"
} | ring tricycle2-ring1.wav tricycle2 40 500
{
    place 0 inner-echo "$(sleeved 3.20)"
    place 90 inner-echo "$(sleeved 3.23)"
    place 180 inner-echo "$(sleeved 3.21)"
    place 270 inner-echo "$(sleeved 3.18)"
} | ring tricycle2-ring2.csv tricycle2 90 600

{
    place 0 no-indication "$(wall 3.18)"
    place 45 no-indication "$(wall 3.20)"
    place 90 no-indication "$(wall 3.23)"
    place 135 delamination "$(wall 3.22) --gap-depth 1.8 --cover 0.4"
    place 180 no-indication "$(wall 3.20)"
    place 225 no-indication "$(wall 3.17)"
    place 270 no-indication "$(wall 3.15)"
    place 315 no-indication "$(wall 3.16)"
} | ring tricycle3-ring1.wav tricycle3 40 700
{
    place 0 no-indication "$(wall 3.19)"
    place 45 no-indication "$(wall 3.21)"
    place 90 delamination "$(wall 3.24) --gap-depth 1.2 --cover 0.5"
    place 135 delamination "$(wall 3.23) --gap-depth 1.2"
    place 180 delamination "$(wall 3.21) --gap-depth 1.4"
    place 225 delamination "$(wall 3.19) --gap-depth 1.4"
    place 270 delamination "$(wall 3.16) --gap-depth 1.2 --cover 0.3"
    place 315 no-indication "$(wall 3.17)"
} | ring tricycle3-ring2.wav tricycle3 90 800
{
    place 0 no-indication "$(wall 3.20)"
    place 45 no-indication "$(wall 3.22)"
    place 90 no-indication "$(wall 3.25)"
    place 135 delamination "$(wall 3.24) --gap-depth 1.0"
    place 180 delamination "$(wall 3.21) --gap-depth 1.0 --cover 0.6"
    place 225 no-indication "$(wall 3.18)"
    place 270 unreadable "$(wall 3.16) --uncoupled"
    place 315 no-indication "$(wall 3.17)"
} | ring tricycle3-ring3.wav tricycle3 140 900

{
    place 0 no-indication "$(wall 3.10)"
    place 45 thin "$(wall 2.94)"
    place 90 undecided "$(wall 2.56)"
    place 135 thin "$(wall 2.93)"
    place 180 no-indication "$(wall 3.09)"
    place 225 attenuated "$(wall 3.18),a=0.26,v=2900"
    place 270 attenuated "$(wall 3.20),a=0.28,v=2900"
    place 315 no-indication "$(wall 3.16)"
} | ring tricycle4-ring1.wav tricycle4 90 1000

"$(dirname "$0")/truth.sh" "$plyecho" "$folder" reference.wav \
    tricycle1-ring1.wav tricycle1-ring2.wav tricycle1-ring3.csv tricycle2-ring1.wav tricycle2-ring2.csv \
    tricycle3-ring1.wav tricycle3-ring2.wav tricycle3-ring3.wav tricycle4-ring1.wav >"$folder/truth.csv"

mkdir -p "$folder/fleet"
"$(dirname "$0")/fleet.sh" "$plyecho" "$folder/fleet"

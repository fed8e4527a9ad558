# outside of its extent a layer is not expected: by the labels angle_deg and axial_mm of the trace
ring=$traces/tricycle2-ring1.wav
carbon="carbon = 4.4 mm, 2900 m/s, u 10 m/s"
for extent in "0 to 90 deg" "300 to 50 deg" "30 to 50 mm" "41 to 50 mm"; do
    "$plyecho" assess --layers "$carbon; plug = 2 mm, 2800 m/s, $extent" --format json "$ring" |
        awk -v extent="$extent" '/"name": "plug"/ { n++ } END { print extent ": expected at", n + 0, "of", NR }'
done
"$plyecho" assess --layers "carbon = 4.4 mm, 2900 m/s, 90 to 360 deg" --format csv "$ring" | cut -d , -f 2,4 | tail -n 2

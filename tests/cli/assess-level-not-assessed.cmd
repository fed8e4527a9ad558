# Without the material's attenuation the back wall's level is not judged: two porous places (6 and 7 of
# 8, 0.26 dB/mm/MHz and more) pass. The odds say so, and the words what a usual laminate's level would be.
"$plyecho" assess --velocity 2942 --nominal 3.2 --pulse "$traces/reference.wav" --format csv \
    --no-header "$traces/tricycle4-ring1.wav" | cut -d , -f 2-4,10,16
"$plyecho" assess --velocity 2942 --nominal 3.2 --pulse "$traces/reference.wav" \
    "$traces/tricycle4-ring1.wav" | grep -A 6 'wav  *6 ' | sed -n '5,6p'
echo 'attenuation stated'
"$plyecho" assess --velocity 2942 --nominal 3.2 --pulse "$traces/reference.wav" --attenuation 0.1 \
    --format csv --no-header "$traces/tricycle4-ring1.wav" | cut -d , -f 2-4 | sed -n 6,7p

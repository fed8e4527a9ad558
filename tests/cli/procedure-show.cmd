# each value that holds, and where it is from
printf '[part]\nname = "Tube #7, left"\nnominal_mm = 3.2\n[material]\nmaterial = carbon\ntemperature_c = 24\nvelocity_per_c_m_s = -1.5\n[calibration]\ntemperature_c = 20\nanvil = ball\n[layers]\ncarbon = 2 mm, 0 to 90 deg\nglass = 1.2 mm, 2800 m/s\n' >tube.ini
"$plyecho" procedure show --format csv tube.ini | grep -v ',none,'
echo with options:
"$plyecho" procedure show --no-header --format csv --velocity 2942 --velocity-u 10 --nominal 4 --mode 2 --band 4M:16M --pulse p.wav \
    --layers 'carbon = 4 mm' tube.ini | grep ',option,'
# the nominal tolerance follows the nominal; a velocity of the file is moved to the part's temperature
"$plyecho" procedure show --no-header --format csv --nominal 4 --layers 'carbon = 4 mm' tube.ini | grep tolerance
sed -i 's/^material = .*/&\nvelocity_m_s = 2942/' tube.ini
"$plyecho" procedure show --format text tube.ini | grep -E '^section|velocity_m_s'
"$plyecho" procedure show --format json tube.ini | grep '"nominal_mm"' | sed 's/"[0-9a-f]\{64\}"/DIGEST/; s/"[0-9]*\.[0-9]*\.[0-9]*[^"]*"}/VERSION}/'
# what is shown is what is measured with: thickness over half the time is the velocity
sed '/^\[layers/,$d' tube.ini >plain.ini
"$plyecho" thickness --quiet --mode 2 --format json --procedure plain.ini "$traces/tricycle1-ring1.wav" | head -n 1 |
    sed 's/.*"thickness_mm": \([0-9.]*\),.*"tof_us": \([0-9.]*\),.*/\1 \2/' | awk '{ printf "%.1f\n", 2000 * $1 / $2 }'
# a tapered tube, and an option in its place
printf '[part]\nnominal_mm = 3.8 at 0, 3.2 at 60\n' >tapered.ini
"$plyecho" procedure show --no-header --format csv tapered.ini | grep ^part,nominal
"$plyecho" procedure show --no-header --format csv --nominal 3 tapered.ini | grep ^part,nominal

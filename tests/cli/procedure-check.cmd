# all faults of a file in one run; what is doubtful; sound files: each with its status
printf '[part]\nnominal_mm = 3.2 mm\n[materials]\nvelocity_m_s = 2950\n[signal]\nmode = 4\nband = 4M:16M\n[acceptance]\nleast_mm = 3\nleast_mm = 3.1\n' >wrong.ini
"$plyecho" procedure check wrong.ini >table.txt; echo "status $?"
day=2026-11-28
look() { "$plyecho" procedure check --no-header --format csv --date "$day" "$@"; echo "status $?"; }
printf '[part]\nnominal_mm = 3.2\ndiameter_mm = 28.6\n[equipment]\nprobe_frequency_hz = 20M\n[material]\nmaterial = carbon\nvelocity_m_s = 3300\nvelocity_u_m_s = 200\ntemperature_c = 30\n[signal]\nband_hz = 4M:16M\npulse = gone.wav\n[calibration]\nzero_us = 0.1\ndate = 2025-11-27T14:05Z\nvalid_days = 365\ntemperature_c = 20\nanvil = flat\nsteps = 2\nsteps_least_mm = 4\nsteps_most_mm = 8\nreference = none.wav\n' >doubtful.ini
look doubtful.ini
# each of them mended
touch gone.wav none.wav
sed -i 's/20M/10M/; s/= 3300/= 2942/; s/u_m_s = 200/u_m_s = 10/; s/= 30$/= 24/; s/2025/2026/; s/flat/ball/; s/least_mm = 4/least_mm = 2/; s/^steps = 2/steps = 5\nfreedom = 3/' doubtful.ini
sed -i 's/^zero_us.*/&\nzero_u_us = 0.002/' doubtful.ini
look doubtful.ini
printf '[material]\nvelocity_m_s = 2942\n[calibration]\nzero_u_us = 0.1\nvalid_days = 3\n' >alone.ini
printf '[material]\nmaterial = carbon\n[calibration]\ndate = 2026-11-30\n' >table.ini
look alone.ini table.ini doubtful.ini
# an option may mend or break it
look --velocity-u 10 --zero 0 --zero-u 0.1 alone.ini
day=2027-11-28
look --nominal 8.5 doubtful.ini
printf '[part]\nnominal_mm = 3.8 at 0, 3.2 at 60\ndiameter_mm = 40 at 0, 38 at 60\n[calibration]\nanvil = flat\nsteps_least_mm = 3\nsteps_most_mm = 3.5\n' >tapered.ini
look tapered.ini
printf '[part]\nnominal_mm = 3.2\n[material]\nmaterial = carbon\n[layers]\ninner = 1 mm\nouter = 1.2 mm\n' >layers.ini
look layers.ini
# nothing stated is no procedure; a wall in inches, also by an option
: >empty.ini
"$plyecho" procedure new >template.ini
sed 's/nominal_mm = 3.2/nominal_mm = 0.126/' doubtful.ini >inches.ini
day=2026-11-28
look empty.ini template.ini inches.ini
look --nominal 0.126 doubtful.ini
look missing.ini "$traces/tricycle1-ring1.wav" doubtful.ini
# a limit on coverage needs the beam's width
printf '[acceptance]\nmost_unseen_mm = 5\n' >unseen.ini
sed 's/^\[equipment\]/[equipment]\nbeam_mm = 3.1/; $a [acceptance]\nleast_coverage_percent = 95' doubtful.ini >seen.ini
look unseen.ini seen.ini

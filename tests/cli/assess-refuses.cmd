# what would judge everything wrong is refused: gain that changes along the trace, another probe's pulse
ring=$traces/tricycle3-ring2.wav
"$plyecho" gain --slope 1 --from 7.4 "$ring" | "$plyecho" assess --velocity 2942 --format csv --no-header -
"$plyecho" simulate --quiet --uncoupled --delay-line pmma:10 --probe 5M:0.5 --start 5 -o other.wav
"$plyecho" assess --velocity 2942 --pulse other.wav --format csv --no-header "$ring"
"$plyecho" assess --velocity 2942 --pulse "$ring" --format csv --no-header "$ring"
printf '[material]\nvelocity_m_s = 2942\n[signal]\npulse = gone.wav\n' >gone.ini
"$plyecho" assess --procedure gone.ini --format csv --no-header "$ring"

# A material's name gives what file and options do not say, with a note; what they say wins.
assess()
{
    "$plyecho" assess --format csv "$@" "$traces/tricycle1-ring1.wav" | sed -n 2p | cut -d, -f3,5,6
}
printf '[part]\nnominal_mm = 3.2\n[material]\nmaterial = carbon\n' >name.ini
assess --procedure name.ini
assess --procedure name.ini --velocity 2942 --velocity-u 10
printf 'velocity_m_s = 2942\nvelocity_u_m_s = 10\n' >>name.ini
assess --procedure name.ini
sed -i 's/= carbon/= carbn/' name.ini
assess --procedure name.ini

# every mistake is said with its file and line, and what mends it
ring=$traces/tricycle2-ring1.wav
refuse()
{
    printf '[material]\nvelocity_m_s = 2942\n[layers]\n%s\n' "$1" >wrong.ini
    "$plyecho" assess --procedure wrong.ini "$ring"
}
refuse 'carbon = 3,2 mm'
refuse 'carbon = 3.2'
refuse 'carbon = 3.2 mm, 2.942 m/s'
refuse 'carbon = 2942 m/s'
refuse 'carbon = 3.2 mm, u 10 m/s'
refuse 'carbon = 3.2 mm
paint = 0.1 mm, coat'
refuse 'paint = 0.1 mm, coat'
refuse 'nominal_mm = 3.2'
"$plyecho" assess --velocity 2942 --nominal 4.4 --layers "carbon = 3.2 mm" "$ring"
"$plyecho" assess --layers "carbon = 3.2 mm" "$ring"
"$plyecho" assess --velocity 2942 --layers "carbon" "$ring"
"$plyecho" assess --velocity 2942 --layers "carbon = 3.2 mm, 5 cm" "$ring"
"$plyecho" thickness --velocity 2942 --layers "carbon = 3.2 mm; carbon = 1 mm" "$ring"
printf '[layer]\ncarbon = 3.2 mm\n' >wrong.ini
"$plyecho" assess --procedure wrong.ini "$ring"
echo "status $?"

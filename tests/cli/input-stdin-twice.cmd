small_csv | "$plyecho" convert -o out/ - -

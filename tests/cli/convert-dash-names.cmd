small_csv >--to
small_csv >-
"$plyecho" convert -o out/ -- --to ./-
ls out
small_wav | "$plyecho" convert --to csv - | sed -n 1p

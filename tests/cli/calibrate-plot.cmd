# a picture of the fit; an ending that is none is said
command -v gnuplot >/dev/null || { echo "no gnuplot"; exit 77; }
five_steps
"$plyecho" calibrate --anvil pin --steps steps.csv --plot fit.svg >out.txt; echo "status $?"
grep -c '<svg' fit.svg
grep -o 'zero held at 0.0000 µs' fit.svg; grep -c 'bars: 1 u' fit.svg
"$plyecho" calibrate --anvil pin --steps steps.csv --plot fit.txt >out.txt; echo "status $?"

# a picture of the fit; an ending that is none is said
command -v gnuplot >/dev/null || { echo "no gnuplot"; exit 77; }
five_steps
"$plyecho" calibrate --anvil pin --steps steps.csv --plot fit.svg >out.txt; echo "status $?"
grep -c '<svg' fit.svg
"$plyecho" calibrate --anvil pin --steps steps.csv --plot fit.txt >out.txt; echo "status $?"

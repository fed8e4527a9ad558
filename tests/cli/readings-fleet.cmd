# The gauge's logs of the fleet: tube 1 is even; over tube 3 it shows the delamination's depth, and leads down to the filed place.
. "$cases/readings.sh"
readings "$fleet/tube1-gauge.csv" --nominal 3.2
echo "status $?"
readings "$fleet/tube3-gauge.csv" --procedure "$fleet/tube.ini"
echo "status $?"
readings "$fleet/tube3-gauge.csv" --format csv | sed -n '1p; 85,87p; 117p'
readings --format json - <"$fleet/tube3-gauge.csv" | sed -n '32p; 85p' | sed -E 's/([0-9]\.[0-9]{4})[0-9]+/\1/g'

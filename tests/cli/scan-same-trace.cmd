# One trace is one place's, whatever its file is called; a copy at another place is no reading of it. A quote in a name is
# doubled (RFC 4180).
. "$cases/scan.sh"
rings 1 2 >tube.csv
mkdir other
cp tube1-ring1.wav other/copy.wav
cp tube1-ring1.wav 'ring "one", again.wav'
ln -s ../tube1-ring2.wav other/link.wav
ln tube1-ring2.wav hard.wav
heading=file,channel,angle_deg,axial_mm
try()
{
    printf '%s\n' $heading tube1-ring1.wav,1,0,20 tube1-ring2.wav,1,0,24 "$@" >"list.csv"
    rm -rf out
    scan --out out list.csv >told.txt
    echo "status $?"
}
try ./tube1-ring1.wav,1,15,20
try other/../tube1-ring1.wav,1,15,20
try other/link.wav,1,15,20
try hard.wav,1,0,24
try ./tube1-ring1.wav,2,15,20
try other/copy.wav,1,15,20
grep copy told.txt
scan --out named tube1-ring1.wav ./tube1-ring1.wav
echo "status $?"
try '"ring ""one"", again.wav",2,15,20'
cut -d, -f1-7 out/readings.csv

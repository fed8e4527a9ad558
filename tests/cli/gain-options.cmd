small_csv >a.csv
for options in '' '--db 6 --slope 1' '--db 6 --from 1' '--db 300' '--table nowhere.csv' '--slope 1e6'; do
    "$plyecho" gain $options a.csv
    echo "status $?"
done

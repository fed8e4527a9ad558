# The columns that users rely on, and what is told of a sound trace.
. "$cases/echoes.sh"
echoes_csv >a.csv
"$plyecho" inspect --format csv a.csv >table.csv || exit
head -n 1 table.csv
"$plyecho" inspect --format json a.csv | tr '{},' '\n\n\n' | awk -F': ' '
    / *"(snr_db|centre_mhz|band_low_mhz|band_high_mhz|peak_us|peak)"/ { printf "%s %.1f\n", $1, $2 }
    / *"step"/ { printf "%s %.6f\n", $1, $2 }
    / *"(clipped_samples|clipped_from_us|line_mhz|doubts|samples)"/ { print $1, $2 }'

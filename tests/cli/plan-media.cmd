"$plyecho" plan --media --format csv

# Results do not depend on how many traces are judged at a time.
. "$cases/scan.sh"
rings 3 4 >tube.csv
for jobs in 1 2 7; do
    scan --jobs $jobs --out jobs$jobs tube.csv >jobs$jobs.txt
    echo "$jobs: status $?"
    sed -i "s/jobs$jobs/DIR/" jobs$jobs.txt
done
for jobs in 2 7; do
    diff -r jobs1 jobs$jobs && cmp jobs1.txt jobs$jobs.txt && echo "1 and $jobs jobs: the same bytes"
done

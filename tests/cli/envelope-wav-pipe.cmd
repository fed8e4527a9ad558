# Through WAV, too, the labels stay, those of one channel among them.
{ printf '# gain_db: 36.5\n# remark: third ring\n'; small_csv; } |
    "$plyecho" convert --to wav | "$plyecho" bandpass --band 10M:40M | "$plyecho" envelope |
    "$plyecho" gain --db 6 | "$plyecho" convert --to csv | grep '^#' | sort

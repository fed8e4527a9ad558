# control characters of a name or a file do not reach the terminal
name=$(printf 'a\033[2Jb\nc.csv')
"$plyecho" convert "$name"
printf 'time_us,a\n0,1\n0.01,\033[2J\n0.02,1\n' | "$plyecho" convert

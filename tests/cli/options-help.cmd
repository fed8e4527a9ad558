"$plyecho" convert --help

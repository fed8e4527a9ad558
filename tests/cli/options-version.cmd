"$plyecho" --version | sed 's/[0-9.]*$/X.Y.Z/'

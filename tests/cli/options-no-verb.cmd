"$plyecho"

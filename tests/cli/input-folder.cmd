mkdir folder
"$plyecho" convert folder

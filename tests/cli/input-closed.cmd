"$plyecho" convert <&-

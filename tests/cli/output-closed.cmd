small_csv | "$plyecho" convert >&-

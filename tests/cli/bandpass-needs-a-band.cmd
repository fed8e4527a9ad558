small_csv | "$plyecho" bandpass

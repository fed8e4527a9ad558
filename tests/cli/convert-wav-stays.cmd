# 16-bit samples become float; what they were is told in labels
small_wav | "$plyecho" convert | head -c 4
echo
small_wav | "$plyecho" convert | "$plyecho" convert --to csv

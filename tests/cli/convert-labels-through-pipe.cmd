# known labels, unknown ones, those of a channel, odd text: all of them arrive
{
    cat <<'END'
# sample_rate_hz: 79972000
# reference_reflection: -1
# remark: a colon: kept, "quotes" too, and äöü
# angle_deg[1]: 52.5
# angle_deg[2]: 60
END
    small_csv | sed 1,3d
} | "$plyecho" convert --to wav | "$plyecho" convert | "$plyecho" convert --to csv | grep '^#'

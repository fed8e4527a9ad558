#!/bin/sh
# The labels of trace files as a table, a row a channel: traces/truth.sh PLYECHO FOLDER FILE...
#
# PLYECHO is the built program; the FILEs are in FOLDER.
set -eu

plyecho=${1:?"usage: traces/truth.sh PLYECHO FOLDER FILE..."}
folder=${2:?"usage: traces/truth.sh PLYECHO FOLDER FILE..."}
shift 2

echo "file,channel,truth_verdict,part,axial_mm,angle_deg,thickness_mm,depth_mm,cover,velocity_m_s,tof_us,snr_db,layers"
for file in "$@"; do
    "$plyecho" convert --to csv -o - "$folder/$file" | awk -v file="$file" '
        function quoted(text) { return text ~ /,/ ? "\"" text "\"" : text }
        /^# / {
            colon = index($0, ":")
            key = substr($0, 3, colon - 3)
            value[key] = substr($0, colon + 2)
            next
        }
        { channels = split($0, heads, ",") - 1; exit }
        function of(key, channel) {
            if ((key "[" channel "]") in value)
                return value[key "[" channel "]"]
            return value[key]
        }
        END {
            for (c = 1; c <= channels; c++)
                print file "," c "," of("truth_verdict", c) "," quoted(of("part", c)) "," \
                    of("axial_mm", c) "," of("angle_deg", c) "," of("truth_thickness_mm", c) "," \
                    of("truth_depth_mm", c) "," of("truth_cover", c) "," \
                    of("truth_velocity_m_s", c) "," of("truth_tof_us", c) "," \
                    of("truth_snr_db", c) "," quoted(of("truth_layers", c))
        }'
done

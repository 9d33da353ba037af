#!/usr/bin/env bash
# Gather the learners' answers into FOLDER/instructor/handed-in: `bash workbook/hub/gather.sh [FOLDER]`, as root.
#
# Each file is read with its learner's own rights, so that a link in a learner's folder reaches no further than
# the learner, and under names that come from the course. What stands in the files is still the learners' word.
set -eu
umask 077
to=${1:-/opt/coachwork}
for name in $(getent group "${COACHWORK_GROUP:-learners}" | cut -d: -f4 | tr , ' '); do
    answers=$(getent passwd "$name" | cut -d: -f6)/coachwork/answers
    rm -rf "$to/instructor/handed-in/$name"
    for path in "$to"/course/lib/coachwork/page/questions/[a-z]*.py; do
        topic=$(basename "$path" .py)
        runuser -u "$name" -- test -f "$answers/$topic.json" || continue
        mkdir -p "$to/instructor/handed-in/$name"
        timeout 10 runuser -u "$name" -- head -c 1000001 "$answers/$topic.json" \
            > "$to/instructor/handed-in/$name/$topic.json"
    done
done
echo "Gathered in $to/instructor/handed-in."

#!/usr/bin/env bash
# Set up the class server, or bring its course up to date: `bash workbook/hub/install.sh [FOLDER]`, as root.
#
# FOLDER (default /opt/coachwork) then holds
#   course/      a copy of this workbook that everybody may read and nobody but root may write
#   venv/        Python with the workbook's requirements and the hub's
#   proxy/       the hub's proxy
#   private/     for root alone: the hub's database and secrets
#   instructor/  for root alone: roster, keys, gathered answers; never touched by an update
# Learners' own folders are not touched: their lessons are renewed when they start next.
set -eu
umask 022
here=$(cd "$(dirname "$0")/../.." && pwd)
to=${1:-/opt/coachwork}
[ "$(id -u)" = 0 ] || { echo "The class server is set up by root: run this with sudo." >&2; exit 1; }
for need in node npm useradd runuser; do
    command -v $need >/dev/null || { echo "There is no $need here: see workbook/hub/README.md." >&2; exit 1; }
done

# A Python that a learner may run too: one inside root's home would stop every learner's server.
python=
for one in python3.14 python3.13 python3.12 python3.11 python3; do
    for path in $(type -ap $one); do
        [ -n "$python" ] || ! runuser -u nobody -- "$path" -c \
            'import sys, venv, ensurepip; sys.exit(sys.version_info < (3, 11))' 2>/dev/null || python=$path
    done
done
[ -n "$python" ] || { echo "No Python 3.11 or newer with venv that all may run: apt install python3-venv." >&2; exit 1; }

mkdir -p "$to/proxy"
mkdir -p -m 700 "$to/private" "$to/instructor"
rm -rf "$to/course.new" "$to/course.old"
mkdir "$to/course.new"
(cd "$here" && tar c --exclude=.git --exclude=.venv --exclude=__pycache__ --exclude='*.egg-info' \
    --exclude=for-instructors.ipynb \
    README.md requirements.txt data lib workbook) | tar x --no-same-owner -C "$to/course.new"
chmod -R u=rwX,go=rX "$to/course.new"
[ ! -e "$to/course" ] || mv "$to/course" "$to/course.old"
mv "$to/course.new" "$to/course"
rm -rf "$to/course.old"

[ -x "$to/venv/bin/pip" ] || "$python" -m venv "$to/venv"
cd "$to/course"
wanted=$(cat requirements.txt workbook/hub/requirements.txt lib/pyproject.toml | sha256sum)
if [ "$wanted" != "$(cat "$to/venv/ready" 2>/dev/null)" ]; then
    "$to/venv/bin/pip" install --quiet --disable-pip-version-check --no-input \
        -r requirements.txt -r workbook/hub/requirements.txt
    echo "$wanted" > "$to/venv/ready"
fi
"$to/venv/bin/python" -m compileall -q lib     # learners cannot write here: each kernel would compile it again
# 5.1 is the last proxy that runs on the Node of Debian 12 (18)
[ -x "$to/proxy/node_modules/.bin/configurable-http-proxy" ] ||
    npm install --silent --no-audit --no-fund --prefix "$to/proxy" configurable-http-proxy@~5.1.0
getent group learners >/dev/null || groupadd --system learners
echo "The class server stands in $to. Start it:"
echo "  $to/venv/bin/jupyterhub -f $to/course/workbook/hub/jupyterhub_config.py"

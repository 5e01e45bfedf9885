#!/usr/bin/env bash
# Checks against the outside: what `bradawl make` writes for every demo job, read by programs that
# know nothing of it. ezdxf (PyPI) audits the drawings and finds the same holes and marks as
# report.json; scipy (PyPI) solves irregular covers anew; Chromium opens the preview and the sheet from disk, without a network, and prints.
#
# What cannot be checked on this machine is said and counted as not done. Exit 1 if a check failed.
set -euo pipefail
cd "$(dirname "$0")/.."

target=${CARGO_TARGET_DIR:-target}
here=$target/outside
python=$here/venv/bin/python
mkdir -p "$here"
made=$(mktemp -d)
trap 'rm -rf "$made"' EXIT

done=() not_done=() failed=()

# record WHAT COMMAND...: exit 0 is done, 3 is not done, anything else has failed.
record() {
    local what=$1 code=0
    shift
    echo "== $what"
    "$@" || code=$?
    case $code in
    0) done+=("$what") ;;
    3) not_done+=("$what") ;;
    *) failed+=("$what") ;;
    esac
}

# installed COMMAND PACKAGE...: has the command, or gets it from Debian's packages.
installed() {
    local command=$1 root=()
    shift
    command -v "$command" >/dev/null && return
    if ! command -v apt-get >/dev/null; then
        echo "  $command is missing, and there is no apt-get to install it with" >&2
        return 3
    fi
    if [ "$(id -u)" != 0 ]; then
        root=(sudo -n)
        if ! "${root[@]}" true 2>/dev/null; then
            echo "  $command is missing: install $*, or run this as root or with sudo" >&2
            return 3
        fi
    fi
    echo "  installing $*"
    if ! { "${root[@]}" apt-get update && "${root[@]}" env DEBIAN_FRONTEND=noninteractive \
        apt-get install -y --no-install-recommends "$@"; } >"$here/apt.log" 2>&1; then
        echo "  $* could not be installed: $(tail -n 1 "$here/apt.log")" >&2
        return 3
    fi
}

get_ezdxf() {
    installed python3 python3 python3-venv || return 3
    if ! { "$python" -m pip --version || python3 -m venv "$here/venv"; } >"$here/pip.log" 2>&1; then
        echo "  no virtual environment (on Debian: apt-get install python3-venv)" >&2
        return 3
    fi
    if ! "$python" -m pip install --disable-pip-version-check -r tests/outside/requirements.txt \
        >>"$here/pip.log" 2>&1; then
        echo "  ezdxf could not be installed: $(tail -n 1 "$here/pip.log")" >&2
        return 3
    fi
}

get_browser() {
    installed chromium chromium chromium-driver && installed chromedriver chromium-driver
}

# Each needs what came before: without it, it is not done.
has_ezdxf=3 has_browser=3
drawings() {
    [ $has_ezdxf = 0 ] || return 3
    "$python" tests/outside/drawings.py "$1" "$2"
}
pages() {
    [ $has_browser = 0 ] || return 3
    python3 tests/outside/browser.py "$1" "$2"
}

cargo build --release --quiet
get_ezdxf && has_ezdxf=0
get_browser && has_browser=0

covers() {
    [ $has_ezdxf = 0 ] || return 3
    mkdir -p "$made/covers"
    "$python" tests/outside/cover.py "$target/release/bradawl" machines "$made/covers"
}
record "irregular covers by a solver" covers
record "a program of 100 MB is read whole" cargo test --quiet --test it -- --ignored

for job in jobs/*.toml; do
    name=$(basename "$job" .toml)
    record "$name: made" "$target/release/bradawl" make "$job" --out "$made/$name" --quiet
    if [ -d "$made/$name" ]; then
        record "$name: drawings" drawings "$job" "$made/$name"
        record "$name: pages" pages "$made/$name" "$here/$name"
    fi
done

echo
echo "Checks against the outside: ${#done[@]} done, ${#not_done[@]} not done, ${#failed[@]} failed"
for what in "${not_done[@]}"; do echo "  not done: $what"; done
for what in "${failed[@]}"; do echo "  FAILED: $what"; done
echo "Screenshots and printed sheets: $here/"
[ ${#failed[@]} = 0 ]

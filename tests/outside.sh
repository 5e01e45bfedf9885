#!/usr/bin/env bash
# Checks against the outside: what `bradawl make` writes for every demo job, read by programs that
# know nothing of it. ezdxf (PyPI) audits the drawings and finds the same holes and marks as
# report.json; scipy (PyPI) solves irregular covers anew; Chromium opens the preview and the sheet from disk, without a network, works them by
# pointer and keys, and prints, and axe-core (npm) looks for what shuts people out; poppler renders the
# templates at 600 dots to the inch, where every mark is measured.
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
        echo "  readers of other people could not be installed: $(tail -n 1 "$here/pip.log")" >&2
        return 3
    fi
}

get_browser() {
    installed chromium chromium chromium-driver && installed chromedriver chromium-driver
}

get_axe() {
    installed npm nodejs npm || return 3
    if ! npm install --silent --no-audit --no-fund --prefix "$here/npm" axe-core@4 >"$here/npm.log" 2>&1; then
        echo "  axe-core could not be installed: $(tail -n 1 "$here/npm.log")" >&2
        return 3
    fi
}

# Each needs what came before: without it, it is not done.
has_ezdxf=3 has_browser=3 has_poppler=3 axe=()
drawings() {
    [ $has_ezdxf = 0 ] || return 3
    "$python" tests/outside/drawings.py "$1" "$2"
}
outlines() {
    [ $has_ezdxf = 0 ] || return 3
    "$python" tests/outside/outlines.py "$target/release/bradawl"
}
plotted() {
    [ $has_ezdxf = 0 ] || return 3
    "$python" tests/outside/plotted.py "$1"
}
pages() {
    [ $has_browser = 0 ] || return 3
    local code=0
    python3 tests/outside/browser.py "$1" "$2" "${axe[@]}" "${@:3}" || code=$?
    # On a busy machine a browser may be too slow for its driver: once more, and then it counts.
    [ $code != 4 ] || python3 tests/outside/browser.py "$1" "$2" "${axe[@]}" "${@:3}" || return 1
    [ $code = 4 ] || return $code
}
on_paper() {
    [ $has_poppler = 0 ] || return 3
    "$target/release/bradawl" template "$1" --out "$2" --quiet
    python3 tests/outside/paper.py "$1" "$2" "$3"
}
# A wall of 2,000 buttons, and beds to match.
wall() {
    local folder=$1
    mkdir -p "$folder/machines"
    sed -e 's/^x *= 900.*/x = 9000/' -e 's/^y *= 600.*/y = 7000/' machines/bench-router.toml >"$folder/machines/bench-router.toml"
    sed -e 's/^x *= 1600.*/x = 11000/' -e 's/^y *= 2600.*/y = 9900/' machines/roll-plotter.toml >"$folder/machines/roll-plotter.toml"
    sed -e 's/^width *= 840/width = 8000/' -e 's/^height *= 560/height = 5000/' \
        -e 's/^width *= 135/width = 160/' -e 's/^height *= 190/height = 240/' \
        -e 's/^quantity.*//' -e 's/^roll_width.*/roll_width = 11000/' jobs/cafe-banquette.toml >"$folder/wall.toml"
    "$target/release/bradawl" make "$folder/wall.toml" --machines "$folder/machines" --out "$folder/wall" --quiet
}

schemas() {
    [ $has_ezdxf = 0 ] || return 3
    "$python" tests/outside/schema.py "$1"
}

cargo build --release --quiet
get_ezdxf && has_ezdxf=0
get_browser && has_browser=0
installed pdftoppm poppler-utils && has_poppler=0
get_axe && axe=(--axe "$here/npm/node_modules/axe-core")

covers() {
    [ $has_ezdxf = 0 ] || return 3
    mkdir -p "$made/covers"
    "$python" tests/outside/cover.py "$target/release/bradawl" machines "$made/covers"
}
record "irregular covers by a solver" covers
record "a program of 100 MB is read whole" cargo test --quiet --test it -- --ignored

record "outlines and drawings brought in" outlines
record "schemas held against the readers" schemas "$target/release/bradawl"

for job in jobs/*.toml; do
    name=$(basename "$job" .toml)
    record "$name: made" "$target/release/bradawl" make "$job" --out "$made/$name" --quiet
    # A pair is two sets of everything: each is looked at by itself.
    for hand in left right; do
        if [ -e "$made/$name/$hand-report.json" ]; then
            mkdir "$made/$name-$hand"
            for file in "$made/$name/$hand-"*; do
                cp "$file" "$made/$name-$hand/"
                cp "$file" "$made/$name-$hand/$(basename "$file" | sed "s/^$hand-//")"
            done
            record "$name, $hand: drawings" drawings "$job" "$made/$name-$hand"
            record "$name, $hand: pages" pages "$made/$name-$hand" "$here/$name-$hand"
        fi
    done
    if [ -e "$made/$name/report.json" ]; then
        record "$name: drawings" drawings "$job" "$made/$name"
        record "$name: pages" pages "$made/$name" "$here/$name"
        record "$name: on paper" on_paper "$job" "$made/$name" "$here/$name"
    fi
done

record "a wall of two thousand buttons: made" wall "$made"
[ ! -d "$made/wall" ] || record "a wall of two thousand buttons: pages" pages "$made/wall" "$here/wall" --machines "$made/machines"
mkdir "$made/plotted-job"
sed 's/"roll-plotter"/"hpgl-plotter"/' jobs/cafe-banquette.toml >"$made/plotted-job/job.toml"
record "HP-GL/2: made" "$target/release/bradawl" make "$made/plotted-job/job.toml" --machines machines \
    --only fabric --out "$made/plotted" --quiet
if [ -d "$made/plotted" ]; then record "HP-GL/2: read by ezhpgl" plotted "$made/plotted"; fi

echo
echo "Checks against the outside: ${#done[@]} done, ${#not_done[@]} not done, ${#failed[@]} failed"
for what in "${not_done[@]}"; do echo "  not done: $what"; done
for what in "${failed[@]}"; do echo "  FAILED: $what"; done
echo "Screenshots and printed sheets: $here/"
[ ${#failed[@]} = 0 ]

#!/usr/bin/env bash
# Drives the real window with a mouse and a keyboard on a display of its own, and checks what it did by the file it
# saved, by its pictures and by its exit status.
#
#   tests/window/drive.sh BINARY ARTEFACT_DIR
#
# BINARY: the built program, such as target/debug/ogee. ARTEFACT_DIR: pictures and logs are left here.
# Needs Xvfb, xdotool and ImageMagick (import, compare, convert), and what the window itself needs
# (libx11-6 libx11-xcb1 libxcursor1 libxi6 libxkbcommon-x11-0 libegl1 libgl1-mesa-dri).
# Exit status 0: everything held. Otherwise the last line says what did not.
set -euo pipefail

if [ $# -ne 2 ]; then
    echo "usage: $0 BINARY ARTEFACT_DIR" >&2
    exit 2
fi
binary=$(realpath "$1")
mkdir -p "$2"
artefacts=$(realpath "$2")
home=$(mktemp -d)
server=
program=

finish() {
    [ -n "$program" ] && kill "$program" 2>/dev/null || true
    [ -n "$server" ] && kill "$server" 2>/dev/null || true
    rm -rf "$home"
}
trap finish EXIT

fail() {
    [ -n "$server" ] && import -window root "$artefacts/failed.png" 2>/dev/null || true
    echo "FAIL: $*" >&2
    exit 1
}

step() { echo "ok: $*"; }

# Runs a command until it succeeds, for at most a number of seconds.
within() {
    local seconds=$1 end=$((SECONDS + $1))
    shift
    until "$@"; do
        [ "$SECONDS" -lt "$end" ] || return 1
        sleep 0.1
    done
}

# The target stretch in a design file, per cent.
target_in() { sed -n 's/^ *"target_stretch_percent": *\([-0-9.e]*\).*/\1/p' "$1"; }

# --- without a display: one plain sentence, status 2, nothing on standard output
status=0
env -u DISPLAY -u WAYLAND_DISPLAY -u WAYLAND_SOCKET RUST_BACKTRACE=1 "$binary" \
    >"$artefacts/no-display.out" 2>"$artefacts/no-display.err" || status=$?
[ "$status" -eq 2 ] || fail "without a display the status is $status, not 2"
[ ! -s "$artefacts/no-display.out" ] || fail "without a display something is printed on standard output"
[ "$(wc -l <"$artefacts/no-display.err")" -eq 1 ] || fail "without a display there is not just one line"
grep -q "display" "$artefacts/no-display.err" || fail "the line does not say that there is no display"
! grep -qi "panicked\|backtrace" "$artefacts/no-display.err" || fail "without a display the program panics"
step "without a display it says so in one line and ends with 2"

# --- a display, a folder for its settings, a design to work on
mkfifo "$home/number"
Xvfb -displayfd 3 -screen 0 1280x800x24 -nolisten tcp -noreset 3>"$home/number" >"$artefacts/server.log" 2>&1 &
server=$!
read -r -t 20 number <"$home/number" || fail "Xvfb does not start; see server.log"
export DISPLAY=:$number
within 20 xdotool getdisplaygeometry >/dev/null 2>&1 || fail "the display takes no programs; see server.log"
unset WAYLAND_DISPLAY WAYLAND_SOCKET || true
export XDG_DATA_HOME=$home/data XDG_CONFIG_HOME=$home/config XDG_STATE_HOME=$home/state XDG_CACHE_HOME=$home/cache
export XDG_RUNTIME_DIR=$home/run
mkdir -p "$XDG_DATA_HOME" "$XDG_CONFIG_HOME" "$XDG_STATE_HOME" "$XDG_CACHE_HOME"
mkdir -m 700 "$XDG_RUNTIME_DIR"

design=$home/driven.ogee.json
"$binary" new --quiet --family sine-generated --to "$design"
cp "$design" "$home/as-made.ogee.json"
rest_target=$(target_in "$design")
[ -n "$rest_target" ] || fail "the new design has no target stretch"

"$binary" "$design" >"$artefacts/window.log" 2>&1 &
program=$!
window=
find_window() {
    kill -0 "$program" 2>/dev/null || fail "the window closed by itself; see window.log"
    window=$(xdotool search --onlyvisible --name Ogee 2>/dev/null | head -n 1)
    [ -n "$window" ]
}
within 60 find_window || fail "no window within a minute; see window.log"
xdotool windowsize --sync "$window" 1280 800 2>/dev/null || true
xdotool windowfocus "$window"
step "the window is there"

# Two pictures alike, half a second apart: nothing moves any more.
still() {
    import -window root "$home/first.png"
    sleep 0.5
    import -window root "$home/second.png"
    compare -metric AE "$home/first.png" "$home/second.png" null: >/dev/null 2>&1
}
settle() { within "${1:-30}" still || fail "the window does not come to rest"; }

# How many pixels of two pictures differ visibly.
differing() {
    # compare itself ends with 1 where pictures differ.
    { compare -metric AE -fuzz 8% "$1" "$2" null: 2>&1 || true; } | cut -d' ' -f1 | xargs printf '%.0f'
}

settle 60
import -window root "$artefacts/opened.png"

# --- the stretch bar: the longest run of one saturated colour, more blue than red, between the side panels is its filled part, which ends
# at the thumb. So the script follows the bar wherever the panels put it.
read -r width height < <(xdotool getwindowgeometry --shell "$window" | sed -n 's/^WIDTH=//p;s/^HEIGHT=//p' | xargs)
first=$((width * 22 / 100))
# Prints the column of the run's right end, its row and its length.
filled_part() {
    convert "$1" -crop "$((width * 56 / 100))x${height}+${first}+0" +repage -depth 8 -separate -combine txt:- |
        sed -n 's/^\([0-9]*\),\([0-9]*\): (\([0-9]*\),\([0-9]*\),\([0-9]*\).*/\1 \2 \3 \4 \5/p' |
        awk -v first="$first" '
            {
                low = $3 < $4 ? $3 : $4; low = $5 < low ? $5 : low
                high = $3 > $4 ? $3 : $4; high = $5 > high ? $5 : high
                colour = $3 "," $4 "," $5
                vivid = high - low > 80 && $5 > $3
                if (vivid && colour == last && $2 == row && $1 == column + 1) run++
                else run = vivid ? 1 : 0
                if (run > best) { best = run; x = $1; y = $2 }
                last = colour; row = $2; column = $1
            }
            END { print first + x, y + 3, best }'
}
read -r bar_x bar_y length < <(filled_part "$artefacts/opened.png")
[ "$length" -gt 60 ] || fail "no stretch bar is found in opened.png"
rest_x=$((bar_x - length))
# From the end of the run to the thumb's middle.
thumb_x=$((bar_x + 8))
thumb_y=$bar_y
step "the stretch bar's thumb is at $thumb_x, $thumb_y"

# A press, eight moves and a release, each in a frame of its own.
drag() {
    local from_x=$1 from_y=$2 by_x=$3 by_y=$4 i
    xdotool mousemove "$from_x" "$from_y"
    sleep 0.2
    xdotool mousedown 1
    sleep 0.1
    for i in 1 2 3 4 5 6 7 8; do
        xdotool mousemove "$((from_x + by_x * i / 8))" "$((from_y + by_y * i / 8))"
        sleep 0.1
    done
    xdotool mouseup 1
    # Long enough for a slow frame: the next move must not be seen together with the release.
    sleep 0.5
}

drag "$thumb_x" "$thumb_y" $((-length / 2)) 0
# Out of the way, so that nothing is lit by the pointer.
xdotool mousemove $((width / 2)) 4
settle
import -window root "$artefacts/stretched.png"
changed=$(differing "$artefacts/opened.png" "$artefacts/stretched.png")
[ "$changed" -gt 200 ] || fail "dragging the thumb changes only $changed pixels"
step "dragging the thumb changes $changed pixels"

# The bar itself must not have moved: panels keep their sizes while somebody works.
read -r bar_x bar_y less < <(filled_part "$artefacts/stretched.png")
moved=$((bar_x - less - rest_x))
[ "${moved#-}" -le 2 ] || fail "the stretch bar has moved by $moved pixels by itself; compare opened.png, stretched.png"
[ "$less" -lt "$length" ] || fail "the bar is filled as far as before"

# --- the target's flag above the thumb's old place: this changes the design
drag "$thumb_x" $((thumb_y - 12)) $((-length / 4)) 0
xdotool mousemove $((width / 2)) 4
settle
import -window root "$artefacts/retargeted.png"
changed=$(differing "$artefacts/stretched.png" "$artefacts/retargeted.png")
[ "$changed" -gt 200 ] || fail "dragging the target changes only $changed pixels"

xdotool key --window 0 ctrl+s
is_changed() { [ "$(target_in "$design")" != "$rest_target" ]; }
within 10 is_changed || fail "saving after dragging the target leaves it at $rest_target %"
new_target=$(target_in "$design")
awk -v a="$new_target" -v b="$rest_target" 'BEGIN { exit !(a > 0 && a < b) }' ||
    fail "dragging the target to the left takes it from $rest_target to $new_target %"
step "dragging the target and saving takes it from $rest_target to $new_target %"

# --- one undo takes the drag back as a whole, one redo brings it again
xdotool key --window 0 ctrl+z
sleep 0.3
xdotool key --window 0 ctrl+s
is_back() { cmp -s "$design" "$home/as-made.ogee.json"; }
within 10 is_back || fail "undo and save do not give back the file as it was made"
settle
import -window root "$artefacts/undone.png"
changed=$(differing "$artefacts/stretched.png" "$artefacts/undone.png")
[ "$changed" -lt $((width * height / 100)) ] || fail "after undo the window differs by $changed pixels"
xdotool key --window 0 ctrl+shift+z
sleep 0.3
xdotool key --window 0 ctrl+s
is_again() { [ "$(target_in "$design")" = "$new_target" ]; }
within 10 is_again || fail "redo and save do not bring the target back to $new_target %"
step "undo gives back the file to the byte, redo the change"

# --- the oblique view and back: it changes the drawing and nothing of the design
import -window root "$artefacts/plan.png"
xdotool key --window 0 v
settle
import -window root "$artefacts/oblique.png"
changed=$(differing "$artefacts/plan.png" "$artefacts/oblique.png")
[ "$changed" -gt 2000 ] || fail "the oblique view changes only $changed pixels"
drag $((width / 2)) $((height / 4)) 80 30
xdotool mousemove $((width / 2)) 4
settle
import -window root "$artefacts/turned.png"
changed=$(differing "$artefacts/oblique.png" "$artefacts/turned.png")
[ "$changed" -gt 500 ] || fail "turning the oblique view changes only $changed pixels"
xdotool key --window 0 v
settle
import -window root "$artefacts/plan-again.png"
changed=$(differing "$artefacts/plan.png" "$artefacts/plan-again.png")
[ "$changed" -lt $((width * height / 100)) ] || fail "back in plan the window differs by $changed pixels"
xdotool key --window 0 ctrl+s
sleep 0.3
[ "$(target_in "$design")" = "$new_target" ] || fail "looking at the ribbon from the side changes the design"
step "the oblique view turns by hand and leaves the design alone"

# --- what was saved is a design that the command line takes
status=0
"$binary" check --quiet "$design" >/dev/null 2>"$artefacts/check.err" || status=$?
[ "$status" -le 1 ] || fail "the saved design is not accepted (status $status); see check.err"

# --- closing
xdotool key --window 0 ctrl+q
is_gone() { ! kill -0 "$program" 2>/dev/null; }
within 20 is_gone || fail "the window does not close"
status=0
wait "$program" || status=$?
program=
[ "$status" -eq 0 ] || fail "the window ends with status $status; see window.log"
! grep -qi "panicked" "$artefacts/window.log" || fail "something panicked; see window.log"
step "the window closes with status 0"
rm -f "$artefacts/failed.png"
echo "PASS"

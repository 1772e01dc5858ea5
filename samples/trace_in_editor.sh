#!/bin/bash
# Trace the bitmap in a drawing with the editor's own tracer, as a person would, on a screen nobody sees.
#
#   trace_in_editor.sh IN.svg OUT.svg [IMAGE_ID]
#
# IN.svg holds the image (id "scan" unless IMAGE_ID says otherwise); OUT.svg is IN.svg with the traced
# path after it. OUT.svg must lie in the folder of IN.svg, so that a relative link to the image still holds.
#
# Inkscape 1.2 offers no command for its tracer, so the dialog is opened by its key (Shift+Alt+B), its
# Apply button is clicked, and the drawing is saved by Ctrl+S. The settings are the dialog's own at first
# start: brightness cutoff. The button's place holds for Inkscape 1.2.2 on a screen of 1600 x 1000 and a
# fresh profile; set APPLY_X and APPLY_Y for another version. SEEN=file.png keeps a picture of the dialog.
#
# Needs: inkscape, Xvfb, openbox (the keyboard wants a window manager), xdotool, and import for SEEN.
set -eu

[ $# -ge 2 ] || { sed -n '2,6p' "$0" >&2; exit 2; }
in=$(realpath "$1"); out=$(realpath -m "$2"); image=${3:-scan}
[ -f "$in" ] || { echo "There is no drawing $1." >&2; exit 2; }
[ "$(dirname "$in")" = "$(dirname "$out")" ] || { echo "IN and OUT must lie in one folder." >&2; exit 2; }
[ "$in" != "$out" ] || { echo "IN and OUT must differ." >&2; exit 2; }

work=$(mktemp -d)
pids=()
finish() {
    for pid in "${pids[@]}"; do kill "$pid" 2>/dev/null || true; done
    wait 2>/dev/null || true
    rm -rf "$work"
}
trap finish EXIT

exec 3>"$work/display"
Xvfb -displayfd 3 -screen 0 1600x1000x24 -nolisten tcp >"$work/xvfb.log" 2>&1 &
pids=("$!")
for _ in $(seq 50); do [ -s "$work/display" ] && break; sleep 0.1; done
export DISPLAY=:$(cat "$work/display")
openbox >"$work/openbox.log" 2>&1 &
pids=("$!" "${pids[@]}")

cp "$in" "$out"
paths_before=$(grep -c "<path" "$out" || true)
# its own profile: the dialog then starts with its own settings; no session bus: a running editor is left alone
DBUS_SESSION_BUS_ADDRESS=disabled: INKSCAPE_PROFILE_DIR="$work/profile" \
    inkscape --with-gui "$out" --actions="select-by-id:$image" >"$work/inkscape.log" 2>&1 &
pids=("$!" "${pids[@]}")

for _ in $(seq 60); do
    window=$(xdotool search --onlyvisible --name "$(basename "$out" .svg)" 2>/dev/null | head -1 || true)
    [ -n "$window" ] && break
    sleep 0.5
done
[ -n "$window" ] || { echo "The editor did not open." >&2; exit 1; }
sleep 4
xdotool windowactivate --sync "$window"
xdotool key shift+alt+b
sleep 4
[ -z "${SEEN:-}" ] || import -window root "$SEEN"
xdotool mousemove "${APPLY_X:-1475}" "${APPLY_Y:-907}" click 1

# the tracer says nothing when it is done: save until the path is in the file
for _ in $(seq 40); do
    sleep 3
    xdotool key ctrl+s
    sleep 2
    if [ "$(grep -c "<path" "$out" || true)" -gt "$paths_before" ] && tail -c 20 "$out" | grep -q "</svg>"; then
        exit 0
    fi
done
echo "No path came; look at the dialog with SEEN=file.png." >&2
exit 1

#!/bin/bash
# Starts the program's window for real, on a virtual screen without a graphics card, and looks at it.
#
#     tests/window_run/run.sh [BINARY]      default target/release/firstpulse
#
# Needs: Xvfb, xdotool, xwininfo, xwd + convert (ImageMagick), dbus-run-session, at-spi2-core,
# python3-gi with Atspi. Prints `N passed, N failed`; exit 0 when nothing failed.
set -uo pipefail
here=$(cd "$(dirname "$0")" && pwd)
root=$(cd "$here/../.." && pwd)
binary=$(realpath "${1:-$root/target/release/firstpulse}")
work=$(mktemp -d)
export HOME=$work/home XDG_CONFIG_HOME=$work/home/.config XDG_DATA_HOME=$work/home/.local/share
export XDG_CACHE_HOME=$work/home/.cache XDG_RUNTIME_DIR=$work/run
mkdir -p "$HOME" "$XDG_RUNTIME_DIR" && chmod 700 "$XDG_RUNTIME_DIR"
export LIBGL_ALWAYS_SOFTWARE=1 GALLIUM_DRIVER=llvmpipe LC_ALL=C.UTF-8
unset WAYLAND_DISPLAY WAYLAND_SOCKET DISPLAY
passed=0 failed=0

check() { # check TEXT COMMAND…
    local text=$1
    shift
    if "$@"; then
        passed=$((passed + 1)) && echo "  ok    $text"
    else
        failed=$((failed + 1)) && echo "  FAIL  $text"
    fi
}

# ---------------------------------------------------------------- without a window

says="(no|cannot|can't|could not|unable).{0,60}window|window.{0,80}(not|no |refused|missing|fail|can't)"

no_window() { # no_window NAME [ENV=VALUE…]
    local name=$1
    shift
    timeout 120 env "$@" "$binary" >"$work/$name.out" 2>"$work/$name.err"
    local code=$?
    check "$name: ends with 0 (was $code)" test "$code" -eq 0
    check "$name: says that no window can open" grep -Eiq "$says" "$work/$name.out" "$work/$name.err"
    check "$name: prints the report of the built-in unit (thresholds, VREF, a stage)" \
        /usr/bin/python3 "$here/check.py" report "$work/$name.out"
    check "$name: no panic on the way" sh -c "! grep -q panicked '$work/$name.err'"
}

echo "without a window ($binary)"
no_window display-unset
no_window display-refused DISPLAY=:99

# ---------------------------------------------------------------- with a window

echo "with a window"
number=$((100 + $$ % 400))
Xvfb ":$number" -screen 0 1366x768x24 -nolisten tcp +extension GLX +render >"$work/xvfb.log" 2>&1 &
xvfb=$!
cleanup() {
    kill "$xvfb" 2>/dev/null
    wait "$xvfb" 2>/dev/null
    [ -n "${KEEP_SCREENS:-}" ] && mkdir -p "$KEEP_SCREENS" && cp "$work"/*.png "$KEEP_SCREENS"/ 2>/dev/null
    rm -rf "$work"
}
trap cleanup EXIT
export DISPLAY=:$number
for _ in $(seq 100); do
    xwininfo -root >/dev/null 2>&1 && break
    sleep 0.1
done
check "virtual screen is up" sh -c "xwininfo -root >/dev/null 2>&1"

export work here binary
dbus-run-session -- bash "$here/session.sh" >"$work/session.log" 2>&1
cat "$work/session.log"
passed=$((passed + $(grep -c '^  ok ' "$work/session.log")))
failed=$((failed + $(grep -c '^  FAIL ' "$work/session.log")))
check "the session came to its end" grep -q '^session done' "$work/session.log"

echo "$passed passed, $failed failed"
[ "$failed" -eq 0 ]

#!/bin/bash
# The part of run.sh that runs on a message bus of its own: window, pictures, accessibility tree, keys.
set -uo pipefail

check() {
    local text=$1
    shift
    if "$@"; then echo "  ok    $text"; else echo "  FAIL  $text"; fi
}

picture() { # picture NAME: the whole screen as PNG
    xwd -root -silent -out "$work/$1.xwd" && convert "xwd:$work/$1.xwd" "$work/$1.png"
}

# accessibility bus, switched on before the program starts
launcher=$(ls /usr/libexec/at-spi-bus-launcher /usr/lib/at-spi2-core/at-spi-bus-launcher 2>/dev/null | head -1)
"$launcher" --launch-immediately >/dev/null 2>&1 &
bus=$!
for _ in $(seq 50); do
    gdbus call --session --dest org.a11y.Bus --object-path /org/a11y/bus \
        --method org.a11y.Bus.GetAddress >/dev/null 2>&1 && break
    sleep 0.1
done
for property in IsEnabled ScreenReaderEnabled; do
    gdbus call --session --dest org.a11y.Bus --object-path /org/a11y/bus \
        --method org.freedesktop.DBus.Properties.Set org.a11y.Status "$property" '<true>' >/dev/null 2>&1
done

"$binary" >"$work/window.out" 2>"$work/window.err" &
program=$!
window=
find_window() {
    window=$(xdotool search --onlyvisible --pid "$program" 2>/dev/null | tail -1)
    [ -n "$window" ] || window=$(xdotool search --onlyvisible --name '[Ff]irst ?pulse' 2>/dev/null | tail -1)
}
for _ in $(seq 200); do
    find_window
    [ -n "$window" ] && break
    kill -0 "$program" 2>/dev/null || break
    sleep 0.1
done
check "a window opens" test -n "$window"
if [ -n "$window" ]; then
    # no window manager here: give it the whole screen and the keyboard. The program sets a size of its
    # own while it opens, so ask until the size has stayed for a second
    fits() { xwininfo -id "$window" | grep -q 'Width: 1366' && xwininfo -id "$window" | grep -q 'Height: 768'; }
    for _ in $(seq 30); do
        # the first window seen may be one that the graphics library opens to try what there is, and closes
        xwininfo -id "$window" >/dev/null 2>&1 || find_window
        xdotool windowmove "$window" 0 0 windowsize "$window" 1366 768 2>/dev/null
        sleep 1
        fits && sleep 1 && fits && break
    done
    xdotool windowfocus "$window" 2>/dev/null
    # wait until something is drawn, at most 60 s
    for _ in $(seq 30); do
        sleep 2
        picture first
        /usr/bin/python3 "$here/check.py" picture "$work/first.png" >/dev/null 2>&1 && break
    done
    check "window is 1366 x 768" fits
    check "window is drawn, not blank" /usr/bin/python3 "$here/check.py" picture "$work/first.png"
    check "accessibility tree names the stages, roles and controls" /usr/bin/python3 "$here/check.py" tree "$program"
    # the pointer lies over the window, or keys go elsewhere where no window manager gives focus
    xdotool mousemove --window "$window" 700 700 2>/dev/null
    xdotool windowfocus --sync "$window" 2>/dev/null
    sleep 0.5
    for key in Tab Tab Tab Tab; do
        xdotool key "$key" 2>/dev/null
        sleep 0.5
    done
    sleep 1
    picture second
    check "window answers to the keyboard" /usr/bin/python3 "$here/check.py" differ "$work/first.png" "$work/second.png"
    check "window still runs" kill -0 "$program"
    check "no panic" sh -c "! grep -q panicked '$work/window.err'"
fi
if ! grep -q . <<<"$window" || ! kill -0 "$program" 2>/dev/null; then
    echo "stderr of the program:" && tail -20 "$work/window.err"
fi
kill "$program" 2>/dev/null
wait "$program" 2>/dev/null
kill "$bus" 2>/dev/null
echo "session done"

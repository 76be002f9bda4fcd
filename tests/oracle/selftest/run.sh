#!/bin/bash
# Tests the judge itself: it must pass an honest stand-in and fail each dishonest one.
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
python=${PYTHON:-python3}
passed=0 failed=0
for mode in honest wrong-roles narrow misses refuses crashes; do
    count=30 # enough for faults that any run shows; coverage needs more
    case $mode in honest | narrow) count=60 ;; esac
    if STAND_IN=$mode "$python" "$here/../judge.py" "$here/stand_in.py" --count $count --seed 5 >/dev/null; then
        verdict=passed
    else
        verdict=failed
    fi
    wanted=failed
    [ "$mode" = honest ] && wanted=passed
    if [ "$verdict" = "$wanted" ]; then passed=$((passed + 1)); else failed=$((failed + 1)); fi
    echo "judge on a $mode stand-in: $verdict (wanted: $wanted)"
done
echo "$passed passed, $failed failed"
[ "$failed" -eq 0 ]

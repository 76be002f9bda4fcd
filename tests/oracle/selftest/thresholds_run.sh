#!/bin/bash
# thresholds.py itself: it must let an honest stand-in pass and catch each dishonest one by the rule meant.
# PYTHON says which interpreter has numpy.
set -euo pipefail
cd "$(dirname "$0")"
python=${PYTHON:-python3}
export PYTHONDONTWRITEBYTECODE=1
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT
printf '#!/bin/bash\nexec "%s" "%s/thresholds_stand_in.py" "$@"\n' "$(command -v "$python")" "$PWD" >"$scratch/program"
chmod +x "$scratch/program"
passed=0 failed=0

expect() { # expect MODE EXIT TEXT
    local code=0
    STAND_IN=$1 "$python" ../thresholds.py "$scratch/program" --only plain-8 --only exact-8 --only parked-8 --only meter-2-8 \
        --count 80 >"$scratch/$1.txt" 2>&1 || code=$?
    if [ "$code" = "$2" ] && grep -q -- "$3" "$scratch/$1.txt"; then
        passed=$((passed + 1))
    else
        failed=$((failed + 1))
        echo "$1: exit $code for $2, or no '$3'"
        tail -n 12 "$scratch/$1.txt"
    fi
}

expect honest 0 " 0 failed"
expect biased 1 "FAIL  exact-8: start_threshold is off by"
expect narrow 1 "FAIL  plain-8: start_threshold holds the truth in .* too few"
expect wide 1 "FAIL  plain-8: stop_threshold is .* times as wide"
expect refusing 1 "FAIL  meter-2-8: hysteresis is refused"
expect inventing 1 "FAIL  parked-8: start_threshold is given"
expect old 0 "left out, as the program does not know their option: meter-2-8"
# a run that was broken off and taken up says what one in a piece says, and another seed is refused
taken() { STAND_IN=honest "$python" ../thresholds.py "$scratch/program" --only exact-8 "$@"; }
whole=$(taken --count 16 | grep " 16 ")
taken --count 7 --results "$scratch/kept" >"$scratch/first.txt"
if [ "$(taken --count 16 --results "$scratch/kept" | grep " 16 ")" = "$whole" ] && [ "$(wc -l <"$scratch/kept")" = 16 ] &&
    ! taken --count 16 --seed 2 --results "$scratch/kept" >"$scratch/other.txt" 2>&1 && grep -q "another" "$scratch/other.txt"; then
    passed=$((passed + 1))
else
    failed=$((failed + 1))
    echo "results kept in a file are not taken up"
fi
echo "$passed passed, $failed failed"
[ "$failed" = 0 ]

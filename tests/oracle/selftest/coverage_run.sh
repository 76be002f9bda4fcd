#!/bin/bash
# coverage.py itself: it must let an honest stand-in pass and catch each dishonest one by the rule meant.
# PYTHON says which interpreter has numpy.
set -euo pipefail
cd "$(dirname "$0")"
python=${PYTHON:-python3}
export PYTHONDONTWRITEBYTECODE=1
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT
printf '#!/bin/bash\nexec "%s" "%s/coverage_stand_in.py" "$@"\n' "$(command -v "$python")" "$PWD" >"$scratch/program"
chmod +x "$scratch/program"
passed=0 failed=0

expect() { # expect MODE EXIT TEXT
    local code=0
    STAND_IN=$1 "$python" ../coverage.py "$scratch/program" --only core --only ramp-500 --count 250 \
        >"$scratch/$1.txt" 2>&1 || code=$?
    if [ "$code" = "$2" ] && grep -q -- "$3" "$scratch/$1.txt"; then
        passed=$((passed + 1))
    else
        failed=$((failed + 1))
        echo "$1: exit $code for $2, or no '$3'"
        tail -n 12 "$scratch/$1.txt"
    fi
}

expect honest 0 " 0 failed"
expect narrow 1 "FAIL  core: out_high_level holds the truth"
expect wide 1 "FAIL  all strata: out_high_level holds the truth"
expect biased 1 "FAIL  core: out_duty_cycle is off by"
expect refusing 1 "FAIL  core: out_frequency is refused"
expect scattered 1 "FAIL  core: out_frequency scatters"
echo "$passed passed, $failed failed"
[ "$failed" = 0 ]

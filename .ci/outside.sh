#!/bin/sh
# Runs the checks against sources outside the project, the tests named
# TestOutside…, and counts them. The last line says how many ran and how many
# were skipped. It fails where one fails, where there is none, and where one is
# skipped although the folder of open data is there.
set -eu

packages=$(grep -rlE --include='*_test.go' '^func TestOutside' . | xargs -r -n1 dirname | sort -u)
if [ -z "$packages" ]; then
	echo "no checks against outside sources found" >&2
	echo "outside checks: 0 run, 0 skipped"
	exit 1
fi

log=$(mktemp)
trap 'rm -f "$log"' EXIT
status=0
# shellcheck disable=SC2086
go test -count=1 -run '^TestOutside' -v $packages >"$log" 2>&1 || status=$?
[ $status = 0 ] || cat "$log"

# A test with subtests is counted by its subtests. The line that ends a
# package's tests keeps the names of two packages apart.
counts=$(awk '
	/^ *--- (PASS|FAIL|SKIP): / {
		parent = $3
		state[package "\t" $3] = $2
		while (sub(/\/[^\/]*$/, "", parent)) inner[package "\t" parent] = 1
	}
	/^(ok|FAIL)[ \t]/ { package++ }
	END {
		for (name in state) if (!(name in inner)) { if (state[name] == "SKIP:") skipped++; else run++ }
		print run + 0, skipped + 0
	}' "$log")
run=${counts% *}
skipped=${counts#* }

if [ "$skipped" != 0 ]; then
	grep -E '^ *--- SKIP: ' "$log" | head -40 || true
	if [ -n "${PLEACH_OPEN_DATA:-}" ] || [ -d ../shared ]; then
		echo "checks were skipped although the open data are there" >&2
		status=1
	fi
fi
if [ "$run" = 0 ]; then
	echo "no check against an outside source ran" >&2
	status=1
fi
echo "outside checks: $run run, $skipped skipped"
exit $status

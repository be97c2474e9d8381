#!/usr/bin/env bash
# Rebuilds the meshes of testdata from their sources into a temporary folder
# and compares each with the stored one: closed, and the same volume within 1e-4.
# Exit code 1 on any difference. Facets may differ between modeller versions,
# so bytes are not compared.
#
#   build.sh                    compare all
#   build.sh NAME...            compare these folders only (demo, coupon, b0, sphere, ...)
#   build.sh --write NAME...    store the rebuilt meshes instead of comparing
#
# Needs openscad (2021.01 or later) and python3; no display.
set -euo pipefail
cd "$(dirname "$0")"

for program in openscad python3; do
    command -v "$program" >/dev/null || { echo "build.sh: $program is missing; install it (Debian: apt-get install openscad python3)" >&2; exit 2; }
done

write=no
if [ "${1:-}" = --write ]; then write=yes; shift; fi
if [ $# -eq 0 ]; then
    set -- demo coupon
    for source in cases/*/case.scad; do set -- "$@" "$(basename "$(dirname "$source")")"; done
fi

work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
failed=0 meshes=0
for name in "$@"; do
    folder=cases/$name source=cases/$name/case.scad
    case $name in
        demo) folder=demo source=demo/knob.scad ;;
        coupon) folder=coupon source=coupon/coupon.scad ;;
    esac
    bodies=$(sed -n 's,^// bodies: ,,p' "$source")
    [ -n "$bodies" ] || { echo "$source: no line '// bodies: ...'" >&2; exit 2; }
    scan=$work/scan.stl    # a part that comes from outside is stored only, and its mold is cut with it
    case " $bodies " in *" part "*|" coupon "*) ;; *) gunzip -c "$folder/part.stl.gz" >"$scan" ;; esac
    for body in $bodies; do
        new=$work/$name-$body.stl stored=$folder/$body.stl.gz
        meshes=$((meshes + 1))
        if ! openscad -D "body=\"$body\"" -D "scan=\"$scan\"" --export-format binstl -o "$new" "$source" >"$work/log" 2>&1; then
            cat "$work/log" >&2
            failed=$((failed + 1))
        elif [ $write = yes ]; then
            python3 pack.py pack "$new" "$stored" || failed=$((failed + 1))
        else
            python3 pack.py compare "$new" "$stored" || failed=$((failed + 1))
        fi
    done
done
echo "$((meshes - failed)) passed, $failed failed"
[ $failed -eq 0 ]

# seamwright lens makes a profile: what is in it, that inspect takes it, and that it is written whole or not at all. $BOARDS
# writes photos through a lens that is known (tools/boards.c).
. "$2/tests/cli/tools/check.sh"

"${BOARDS:?the program of tools/boards.c}" || fail "no photos of a board"
photos="board1.png board2.png board3.png board4.png board5.png board6.png"

# figure NAME LEAST MOST: what the profile has under this name.
figure() {
    value=$(sed -n "s/^ \"$1\": \([-0-9.e+]*\),*$/\1/p" phone.lens.json)
    awk "BEGIN { exit !(\"$value\" != \"\" && ${value:-0} >= $2 && ${value:-0} <= $3) }" ||
        fail "phone.lens.json: $1 is '$value', not $2 to $3"
}

# Over an older profile, which is replaced.
echo old >phone.lens.json
# shellcheck disable=SC2086 # several words
run 0 lens -o phone.lens.json -c 10x7 -s 25 $photos
prints "phone.lens.json: lens profile from 6 photos of 640 x 480 pixels, camera Heron 5."
prints "Fit: good."
prints "seamwright inspect table.jpg --lens phone.lens.json"
# shellcheck disable=SC2086
holds phone.lens.json $photos
grep -q '"format": "seamwright-lens"' phone.lens.json || fail "phone.lens.json is no profile"
grep -q '"camera": "Heron 5"' phone.lens.json || fail "phone.lens.json names no camera"
figure width_px 640 640
figure height_px 480 480
figure photos 6 6
figure square_mm 25 25
figure focal_mm 4.29 4.31
figure fx_px 518 522
figure fy_px 518 522
figure cx_px 314 318
figure cy_px 242 246
figure k1 -0.12 -0.08
figure residual_px 0.001 0.1
figure covered 0.4 0.95

# The same photos make the same bytes, here and in a folder.
mkdir lenses
# shellcheck disable=SC2086
run 0 lens --output lenses/phone.json --checkerboard 10x7 --square 25 $photos
cmp -s phone.lens.json lenses/phone.json || fail "the same photos made another profile"

# inspect takes it up, and finds that it belongs to photos of another size.
refuse "640 x 480" inspect "$source/samples/valley-north.jpg" --lens phone.lens.json -o out

# A disk that fills up, as the system's limit on the size of files plays it: the older profile stays, and nothing else.
before=$(cat lenses/phone.json)
(
    trap '' XFSZ
    ulimit -f 1
    exec "$program" lens -o lenses/phone.json -c 10x7 -s 12 board1.png board2.png board3.png
) >"$results/out" 2>"$results/err"
[ $? -eq 2 ] || fail "a full disk: not exit status 2"
grep -q "lenses/phone.json: .*\(cannot be written\|disk full\)" "$results/err" || fail "a full disk is not told"
[ "$before" = "$(cat lenses/phone.json)" ] || fail "a full disk spoilt the older profile"
[ "$(ls -A lenses)" = phone.json ] || fail "a full disk left $(ls -A lenses)"
finish

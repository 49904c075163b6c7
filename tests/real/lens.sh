# seamwright lens on OpenCV's own checkerboard photos, a real camera of 640 x 480 pixels: `sh tests/real/fetch` gets them.
# Skipped (exit status 77) without them.
folder=${SEAMWRIGHT_BOARDS:-${XDG_CACHE_HOME:-$HOME/.cache}/seamwright/boards}
if [ ! -f "$folder/left14.jpg" ] || [ ! -f "$folder/right14.jpg" ]; then
    echo "SKIPPED: there are no checkerboard photos in $folder; sh tests/real/fetch gets them (96 MB)"
    exit 77
fi
. "$2/tests/cli/tools/check.sh"

# figure FILE NAME: the number that a profile has under this name.
figure() {
    sed -n "s/^ \"$2\": \([-0-9.e+]*\),*$/\1/p" "$1"
}

# A good calibration of the left photos lands under 0.21 px: with a corner window of half-width 5, OpenCV 4.6 has 0.195 px,
# fx 532.8, cx 342.5, cy 233.9, k1 -0.281. (The calibration published with OpenCV, 0.393 px, fx 535.9, used a window too
# large for the small squares.) The right camera is of the same make; nobody has told us its figures.
for side in left right; do
    run 0 lens -o $side.json --checkerboard 10x7 --square 25 "$folder"/${side}[0-9][0-9].jpg
    [ "$(figure $side.json photos)" = 13 ] || fail "$side: not all 13 photos were used"
    residual=$(figure $side.json residual_px)
    awk "BEGIN { exit !(${residual:-9} > 0 && ${residual:-9} < 0.21) }" || fail "$side: residual $residual px, not under 0.21"
    printf '%s: residual %.4f px, fx %.2f, cx %.2f, cy %.2f, k1 %.4f, k2 %.4f, k3 %.4f\n' $side "$residual" \
        "$(figure $side.json fx_px)" "$(figure $side.json cx_px)" "$(figure $side.json cy_px)" \
        "$(figure $side.json k1)" "$(figure $side.json k2)" "$(figure $side.json k3)"
done
finish

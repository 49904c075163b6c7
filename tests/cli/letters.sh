# Without a font nothing is drawn: whoever draws refuses, says why, and leaves the older result whole; figures alone need none. Nor do
# letters depend on how many files may be open. WATCHED: sanitizers are (src/cli/open.c is left out then).
. "$2/tests/cli/tools/check.sh"

# fonts FOLDER: from here on these are all the fonts there are.
fonts() {
    cat >"$results/fonts.conf" <<END
<?xml version="1.0"?><!DOCTYPE fontconfig SYSTEM "fonts.dtd">
<fontconfig><dir>$1</dir><cachedir>$results/cache</cachedir></fontconfig>
END
    export FONTCONFIG_FILE="$results/fonts.conf"
}

photo="$source/samples/ferry-1.jpg"
run 1 inspect "$photo" -r 80/48 -o with
run 0 card -o card.pdf

# As few open files as the program can begin with, then more: a refusal in one line, the older result as it was; or the usual result. What a refused run
# leaves beside, the next one puts in order.
limit=4
until (ulimit -n $limit && "$program" --version) >"$results/out" 2>&1; do
    limit=$((limit + 1))
done
most=$((limit + 8))
while [ -z "$WATCHED" ] && [ $limit -le $most ]; do
    rm -rf few few.part-*
    mkdir few
    cp with/inspection.json few
    (ulimit -n $limit && "$program" inspect "$photo" -r 80/48 -o few) >"$results/out" 2>"$results/err"
    got=$?
    what="no more than $limit open files"
    if [ $got -eq 2 ]; then
        [ "$(wc -l <"$results/err")" -eq 1 ] || fail "$what: not one line on standard error"
        [ "$(ls few)" = inspection.json ] || fail "$what: the older result changed"
        run 1 inspect "$photo" -r 80/48 -o few
    fi
    cmp -s with/overlay.png few/overlay.png || fail "$what: exit status $got, and another picture"
    [ "$(echo few*)" = few ] || fail "$what: something is left: $(echo few*)"
    limit=$((limit + 1))
done
rm -rf few
run 1 plan with -o with

# None is installed.
mkdir "$results/fonts"
fonts "$results/fonts"
why="letters cannot be drawn, as no font is installed or its file cannot be opened"
refuse "overlay.png: its $why" inspect "$photo" -r 80/48 -t 0.9 -o with
refuse "strips.pdf: its $why" plan with -t 0.9 -o with
refuse "card.pdf: its $why" card -n 4 -o card.pdf
run 1 inspect "$photo" -r 80/48 -o without --no-pictures
holds card.pdf with without

# One is, and was listed when it was whole, but is no font any more.
font=$(find /usr/share/fonts /usr/local/share/fonts -name '*.ttf' 2>"$results/find" | sort | head -n 1)
if [ -n "$font" ]; then
    rm -rf "$results/fonts" "$results/cache"
    mkdir "$results/fonts"
    cp "$font" "$results/fonts/one.ttf"
    run 1 inspect "$photo" -r 80/48 -o with
    : >"$results/fonts/one.ttf"
    refuse "overlay.png: its $why" inspect "$photo" -r 80/48 -t 0.9 -o with
fi

finish

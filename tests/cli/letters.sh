# Without a font nothing is drawn: whoever draws refuses, says why, and leaves the older result whole; figures alone need none.
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
run 1 plan with -o with
run 0 card -o card.pdf

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

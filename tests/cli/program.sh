# The program itself: help, version, commands.
. "$2/tests/cli/tools/check.sh"

for option in --help -h; do
    run 0 $option
    says_nothing
    prints "Usage: seamwright COMMAND"
    for command in card lens inspect plan recheck arrange; do
        prints "  $command "
    done
done
for option in --version -V; do
    run 0 $option
    says_nothing
    [ "$(cat "$results/out")" = "seamwright 0.1.0" ] || fail "$what: not the version"
done

for command in card lens inspect plan recheck arrange; do
    for option in --help -h; do
        run 0 $command $option
        says_nothing
        prints "Usage: seamwright $command"
        # Every option the command takes is explained.
        longest=$(awk '{ if (length > longest) longest = length } END { print longest }' "$results/out")
        [ "$longest" -le 84 ] || fail "$what: a line of $longest characters"
    done
    # Help wins over what is still missing or comes behind it.
    run 0 $command --help --no-such-option
    for option in --version -V; do
        run 0 $command $option
        [ "$(cat "$results/out")" = "seamwright 0.1.0" ] || fail "$what: not the version"
    done
    refuse "--no-such-option is no option of $command" $command --no-such-option
    refuse "-Z is no option of $command" $command -Z
    refuse "-o needs a value behind it" $command -o
done
run 0 card --help
for option in --output --frame --plain --checkerboard --square --paper; do
    prints " $option"
done
prints "blade"
run 0 lens --help
for option in --output --checkerboard --square; do
    prints " $option"
done
run 0 inspect --help
for option in --reference --tile --table --height --lens --tolerance --step --no-pictures --output; do
    prints " $option"
done
# Who is told what to sand is told how to do it safely.
prints "FFP3"
prints "eye protection"
prints "hot wire"
run 0 plan --help
for option in --for --layout --tolerance --cut --height --paper --output; do
    prints " $option"
done
prints "FFP3"
prints "eye protection"
prints "hot wire"
run 0 arrange --help
for option in --keep --layout --tolerance --seed --output; do
    prints " $option"
done
run 0 recheck --help
for option in --plan --layout --tolerance --output; do
    prints " $option"
done
prints "FFP3"
prints "eye protection"

# Limits are stated as the code has them.
run 0 inspect --help
constant() {
    sed -n "s/.*\\b$1 *=* *\\([0-9]*\\).*/\\1/p" "$source/$2" | head -n 1
}
pixels=$(constant SW_PHOTO_MAX_PIXELS include/seamwright/photo.h)
side=$(constant SW_PHOTO_MAX_SIDE_PX src/photo/decode.h)
tiles=$(constant SW_TABLE_MOST include/seamwright/defaults_and_ranges.h)
photos=$(constant SW_TABLE_PHOTOS_MOST include/seamwright/defaults_and_ranges.h)
megabytes=$(((8 * pixels + 64 * 1048576) / 1000000))
prints "Limits: $((pixels / 1000000)) million pixels a photo, $side a side; $megabytes MB a file; $tiles x $tiles tiles;"
prints "$photos photos."
grep -qF "$((pixels / 1000000)) million pixels, $side a side, $megabytes MB as a file" "$source/samples/handbook.md" ||
    fail "samples/handbook.md states other limits"
# The size of a file is looked at before it is read.
truncate -s "$((megabytes + 1))M" large.jpg
refuse "too large for a photo (limit $megabytes MB)" inspect large.jpg

refuse "card, lens, inspect, plan, recheck or arrange"
refuse "'measure' is no command" measure
refuse "'' is no command" ""
refuse "must come behind a command" --tile 300 table.jpg

# A full disk behind standard output is an error, not a short help text.
if [ -w /dev/full ]; then
    "$program" --help >/dev/full 2>"$results/err"
    [ $? -eq 2 ] || fail "--help to a full device: not exit status 2"
    grep -q "^standard output: " "$results/err" || fail "--help to a full device: no message"
fi

# A name may hold anything; the message stays one line without terminal commands.
refuse "is no command" "$(printf 'a\nb\033[31mc')"
! grep -q "$(printf '\033')" "$results/err" || fail "an escape sequence reached the terminal"
finish

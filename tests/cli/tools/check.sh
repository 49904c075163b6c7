# Read by the scripts of the folder above, which get the program as $1 and the source folder as $2. Every script works in
# an empty folder of its own, removed at its end, and ends with `finish`.
# shellcheck shell=sh disable=SC2034,SC2012 # the variables are the scripts'; the names are ours, ls is safe with them
program=$1
source=$2
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cd "$work" || exit 1
results=$(mktemp -d "$work/.results-XXXXXX")
failures=0

fail() {
    echo "FAIL: $*"
    sed 's/^/    stdout: /' "$results/out" 2>/dev/null
    sed 's/^/    stderr: /' "$results/err" 2>/dev/null
    failures=$((failures + 1))
}

# run STATUS ARGUMENT...: runs the program and wants this exit status.
run() {
    wanted=$1
    shift
    what="seamwright $*"
    "$program" "$@" >"$results/out" 2>"$results/err"
    got=$?
    [ "$got" -eq "$wanted" ] || fail "$what: exit status $got, not $wanted"
}

# What the last run printed: on standard output, on standard error, and nothing on either.
prints() {
    grep -qF -e "$1" "$results/out" || fail "$what: standard output lacks \"$1\""
}
says() {
    grep -qF -e "$1" "$results/err" || fail "$what: standard error lacks \"$1\""
}
prints_nothing() {
    [ ! -s "$results/out" ] || fail "$what: standard output is not empty"
}
says_nothing() {
    [ ! -s "$results/err" ] || fail "$what: standard error is not empty"
}

# Every file with its size and time, every folder by its name.
inventory() {
    find . -path "./${results##*/}" -prune -o -type f -printf '%p %s %T@\n' -o -printf '%p %y\n' | sort
}

# refuse SENTENCE ARGUMENT...: exit status 2, one line on standard error that holds SENTENCE, nothing on standard output,
# and the working folder exactly as it was, files with a leading dot included.
refuse() {
    sentence=$1
    shift
    before=$(inventory)
    run 2 "$@"
    says "$sentence"
    prints_nothing
    [ "$(wc -l <"$results/err")" -eq 1 ] || fail "$what: not one line on standard error"
    grep -q '^[^ ].*: .' "$results/err" || fail "$what: the message is not \"SUBJECT: sentence\""
    [ "$before" = "$(inventory)" ] || fail "$what: left something behind"
}

# holds NAME...: the working folder holds exactly these names.
holds() {
    for name in "$@"; do
        echo "$name"
    done | sort >"$results/wanted"
    ls -A --ignore=.results-* | sort | diff "$results/wanted" - >"$results/difference" ||
        fail "the folder does not hold exactly: $* ($(tr '\n' ' ' <"$results/difference"))"
}

# data_of PAGE: what a page knows, as compact JSON on one line.
data_of() {
    sed -n 's/^.*<script type="application\/json" id="data">\(.*\)<\/script>.*$/\1/p' "$1"
}

# knows PAGE TEXT: its data holds this text.
knows() {
    data_of "$1" | grep -qF -e "$2" || fail "$1: its data lacks $2"
}

# alone PAGE: it wants nothing from the network; the one address in it is the name of the language that pictures are drawn in.
alone() {
    ! grep -o 'http[^"]*' "$1" | grep -v '^http://www.w3.org/2000/svg$' >"$results/wanted" ||
        fail "$1 wants the network: $(cat "$results/wanted")"
}

finish() {
    [ "$failures" -eq 0 ] || echo "$failures failures"
    [ "$failures" -eq 0 ]
    exit
}

# What the house is like: format, length of files and functions, fullness of folders, and who includes whom. Gets the source folder.
cd "$1" || exit 1
for tool in clang-format ctags; do
    command -v $tool >/dev/null || { echo "no $tool: sh samples/setup tests" && exit 77; }
done
failures=$(mktemp)
trap 'rm -f "$failures"' EXIT

# none WHAT: standard input is empty, or its first lines are shown.
none() {
    sed -n "1s/^/FAIL: $1:\n/; 1,20p" | tee -a "$failures"
}

code() {
    find "$@" -name '*.c' -o -name '*.h' -o -name '*.cpp'
}

# includes FOLDER: "FILE HEADER" for each header named in quotation marks.
includes() {
    code "$1" | xargs sed -n 's/^# *include "\([^"]*\)".*/\1/; T; F; p' | paste -d ' ' - -
}

[ "$(code src include tests | wc -l)" -gt 300 ] || echo "$1" | none "a folder without the code"
code src include tests | xargs clang-format --dry-run -Werror 2>&1 | grep 'error:' | none "not as clang-format -i leaves it"
code src include tests | xargs awk 'FNR == 501 { print FILENAME }' | none "files longer than 500 lines"
code src include tests | xargs ctags -x --_xformat='%{end} %n %F %N' --kinds-C=f --kinds-C++=f |
    awk '$1 - $2 >= 100 { print $3 ": " $4 }' | none "functions longer than 100 lines"
code src include tests | grep -v 'h$' | sed 's,/[^/]*$,,' | sort | uniq -c | awk '$1 > 25 { print $2 ": " $1 }' |
    none "folders with more than 25 sources"

# Includes say their room; the program uses the public headers only, the library never the program.
{ includes src; includes tests; } | grep -v '/.* .*/' | none "includes without a room"
includes src/cli | grep -v ' cli/\| seamwright/' | none "the program includes what is not public"
includes src | grep -v '^src/cli/' | grep ' cli/' | none "the library includes the program"
includes include | grep -v ' seamwright/' | none "a public header includes what is not public"

# The rooms can be put in an order in which each includes earlier ones only. tsort names what stands in a circle.
includes src | sed 's,^src/,,; s,/[^/]* , ,; s,/[^/]*$,,' | awk '$1 != $2 && $2 != "seamwright"' | sort -u | tsort 2>&1 >/dev/null |
    none "rooms that include each other in a circle"
[ ! -s "$failures" ]

# The library as others use it: installed to a place of its own, the example of include/seamwright/README.md compiled with pkg-config there,
# against the shared library and the static one, and run; the shared library shows what the public headers promise, and
# nothing else. CC and SANITIZE (compiler options) come from the build.
. "$2/tests/cli/tools/check.sh"
build=$(dirname "$program")
prefix=$work/prefix
photo=$source/samples/valley-north.jpg

cmake --install "$build" --prefix "$prefix" >"$results/out" 2>"$results/err" || fail "cannot be installed"
PKG_CONFIG_PATH=$(dirname "$(find "$prefix" -name seamwright.pc)")
export PKG_CONFIG_PATH
libraries=$(dirname "$PKG_CONFIG_PATH")

# The C block of its README.md.
awk '/^```/ { in_code = /^```c$/; next } in_code' "$source/include/seamwright/README.md" >worst.c
lines=$(wc -l <worst.c)
[ "$lines" -ge 10 ] && [ "$lines" -le 30 ] || fail "the example has $lines lines"

# compile PROGRAM PKG-CONFIG-OPTION...
compile() {
    what="compile $*"
    made=$1
    shift
    # shellcheck disable=SC2046,SC2086 # options, to be split
    "${CC:-cc}" -std=c17 -Wall -Wextra -Werror ${SANITIZE:-} worst.c -o "$made" $(pkg-config "$@" --cflags --libs seamwright) \
        >"$results/out" 2>"$results/err" || fail "$what: does not compile"
}

# The seam that gapes most, as the photo's truth has it, and its gap to within the uncertainty stated.
check() {
    what=$1
    LD_LIBRARY_PATH=$libraries "./$1" "$photo" >"$results/out" 2>"$results/err" || fail "$what: exit status $?"
    says_nothing
    read -r seam gap unit plus u95 rest <"$results/out"
    [ "$seam $unit $plus $rest" = "B1-C1: mm ± mm, over" ] || fail "$what: prints no such line"
    awk -v gap="$gap" -v u95="$u95" 'BEGIN { exit !(u95 > 0 && u95 < 0.5 && gap - 1.87 < u95 && 1.87 - gap < u95) }' ||
        fail "$what: $gap mm is not the true 1.87 mm"
}

compile worst
check worst
if LD_LIBRARY_PATH=$libraries ./worst none.jpg >"$results/out" 2>"$results/err"; then fail "worst none.jpg: exit status 0"; fi
what="worst none.jpg"
says "none.jpg: there is no such file"
mkdir away
mv "$libraries"/libseamwright.so* away
compile worst_static --static
check worst_static
mv away/* "$libraries"

# The installed program finds the installed library by itself, wherever the tree is moved to.
mv "$prefix" "$work/moved"
"$work/moved/bin/seamwright" --version >"$results/out" 2>"$results/err" || fail "moved: exit status $?"
what="moved program"
prints "seamwright $(PKG_CONFIG_PATH=$(dirname "$(find "$work/moved" -name seamwright.pc)") pkg-config --modversion seamwright)"

"$work/moved/bin/seamwright" inspect none.jpg >"$results/out" 2>"$results/err"
[ $? -eq 2 ] || fail "$what: exit status is not 2"
says "none.jpg: there is no such file"

# What the shared library shows is what the headers promise: begins with sw_, and is declared there.
nm -D --defined-only "$build/libseamwright.so" | awk '{ print $3 }' | sort >shown
[ "$(wc -l <shown)" -ge 50 ] || fail "the shared library shows $(wc -l <shown) functions only"
cat "$source"/include/seamwright/*.h | tr '\n' ' ' | sed 's/SW_API/\n&/g' |
    sed -n 's/^SW_API [^;]*[ *]\(sw_[a-z0-9_]*\)(.*/\1/p' | sort >promised
what="names of the shared library"
: >"$results/err"
diff shown promised >"$results/out" || fail "$what: < shown, > promised"
finish

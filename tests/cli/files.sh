# Files and folders of every kind: results stay whole, what is not ours stays, what followed from an older inspection goes, and
# what is no file is refused instead of waited for.
# shellcheck disable=SC2012 # the names are ours, ls is safe with them
. "$2/tests/cli/tools/check.sh"
photo=$source/samples/orchard.jpg

lies() {
    [ "$(ls -A table.seams | tr '\n' ' ')" = "$* " ] || fail "$what: table.seams holds $(ls -A table.seams | tr '\n' ' ')"
}
inspected="edges.csv inspection.json"
planned="plan.html plan.json"

# A plan, a recheck and an arrangement follow from an inspection: made anew it takes them away, and nothing else.
run 1 inspect "$photo" --step 3 --no-pictures -o table.seams
cp table.seams/inspection.json kept.json
"$program" plan table.seams --lean "A1 east=square" >/dev/null 2>&1
"$program" recheck kept.json table.seams >/dev/null 2>&1
lies $inspected $planned recheck.html recheck.json seams.csv strips.pdf
mkdir table.seams/photos
echo "B2 glued on Tuesday" >table.seams/notes.txt
echo mine >table.seams/arrange.html
run 1 inspect "$photo" --step 3 --no-pictures -o table.seams
says "what a try square said went with the plan that lay here; say it again: seamwright plan table.seams --lean"
lies arrange.html $inspected notes.txt photos seams.csv
grep -q Tuesday table.seams/notes.txt || fail "$what: the notes were lost"
cmp -s kept.json table.seams/inspection.json || fail "$what: not the same inspection twice"
refuse "table.seams/arrange.html: was not written by arrange and is left alone" arrange table.seams

# Nobody's plan.html is overwritten because our inspection lies beside it.
echo mine >table.seams/plan.html
refuse "table.seams/plan.html: was not written by plan and is left alone" plan table.seams
rm -r table.seams/plan.html table.seams/arrange.html table.seams/notes.txt table.seams/photos

# A dead run's stage: the old files come back, the leftovers go. This one was killed while its files took their places one by one.
"$program" plan table.seams >/dev/null 2>&1
stage=table.seams/table.seams.part-999999999-0
mkdir -p $stage/new $stage/old $stage/gone
mv table.seams/plan.json table.seams/plan.html $stage/old
echo new >$stage/new/plan.html
echo new >table.seams/plan.json
printf 'folder 1\nover plan.json\nover plan.html\nover strips.pdf\nof table.seams\n' >$stage/names
run 1 recheck kept.json table.seams --plan table.seams/plan.json -o elsewhere
lies $inspected $planned seams.csv strips.pdf
# And this one before it was exchanged.
mkdir -p table.seams.part-999999999-1/new
echo new >table.seams.part-999999999-1/new/plan.json
printf 'folder %s\nover plan.json\nof table.seams\n' "$(stat -c %i table.seams.part-999999999-1/new)" \
    >table.seams.part-999999999-1/names
run 1 recheck kept.json table.seams -o elsewhere
[ ! -e table.seams.part-999999999-1 ] || fail "$what: a dead run's stage stays"
lies $inspected $planned seams.csv strips.pdf

# No space: every file may hold 4 kB only.
before=$(inventory)
(
    ulimit -f 8
    "$program" plan table.seams >"$results/out" 2>"$results/err"
)
[ $? -eq 2 ] || fail "a full disk: not exit status 2"
[ "$(wc -l <"$results/err")" -eq 1 ] || fail "a full disk: not one line"
[ "$before" = "$(inventory)" ] || fail "a full disk: left something behind"

# Not permitted (root may do anything).
if [ "$(id -u)" -ne 0 ]; then
    chmod a-w table.seams
    refuse "table.seams: cannot be written to" plan table.seams
    chmod u+w table.seams
    mkdir closed
    chmod a-w closed
    refuse "closed/new.seams: cannot be written" inspect "$photo" -o closed/new.seams
    chmod u+w closed && rmdir closed
fi

# Odd names are names.
odd=$(printf -- 'B2 "north" & <b>\303\244\n%%s\\.seams')
run 1 inspect "$photo" --step 3 --no-pictures -o "./$odd"
"$program" plan "./$odd" >/dev/null 2>&1
[ -s "./$odd/strips.pdf" ] || fail "no plan in a folder with an odd name"
refuse "kept.json: there is a file of this name" inspect "$photo" --no-pictures -o kept.json
rm -r "./$odd"

# What is no file is refused, and nobody waits for it.
mkfifo pipe
for no in pipe /dev/zero .; do
    what="--lens $no"
    timeout 20 "$program" inspect "$photo" --lens $no -o new.seams >"$results/out" 2>"$results/err"
    [ $? -eq 2 ] || fail "$what: not exit status 2"
    grep -q "^$no: is a " "$results/err" || fail "$what: $(cat "$results/err")"
    timeout 20 "$program" recheck kept.json $no >"$results/out" 2>"$results/err"
    [ $? -eq 2 ] || fail "recheck of $no: not exit status 2"
done
timeout 20 "$program" inspect pipe >"$results/out" 2>"$results/err"
[ $? -eq 2 ] || fail "a photo that is a pipe: not exit status 2"
# A pipe that brings a file is as good as the file.
(cat kept.json >pipe &)
run 1 recheck pipe kept.json -o elsewhere
rm pipe

rm -r kept.json elsewhere table.seams
holds
finish

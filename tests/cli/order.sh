# One order of work, word for word the same wherever it stands: report, plan, recheck, arrange, the plan's text, README.
. "$2/tests/cli/tools/check.sh"

run 1 inspect "$source/samples/ferry-1.jpg" -r 80/48 --step 2 -t 0.3 -o one.seams
prints "Next: Push the tiles together and photograph, if this photo was not of pushed tiles; then begin with"
"$program" plan one.seams >"$results/out" 2>"$results/err" || [ $? -eq 1 ] || fail "no plan"
sed -n 's/^Order of work: //p' "$results/out" >names
"$program" recheck one.seams one.seams -o one.seams >"$results/out" 2>"$results/err" || [ $? -eq 1 ] || fail "no recheck"
"$program" arrange one.seams >"$results/out" 2>"$results/err" || [ $? -eq 1 ] || fail "no arrangement"

# The list that a page knows, as README has it but a step on one line.
order_on() {
    data_of "$1" | grep -o '"order":\[[^]]*\]' | grep -o '{"step":"[^"]*","text":"[^"]*"}' |
        sed 's/{"step":"\([^"]*\)","text":"\([^"]*\)"}/**\1.** \2/'
}
sed -n '/^1\. \*\*Push/,/^$/p' "$source/README.md" | tr '\n' ' ' | tr -s ' ' | sed 's/ [1-9]\. \*\*/\n**/g; s/^1\. //; s/ *$/\n/' \
    >README.order
[ "$(wc -l <README.order)" -eq 6 ] || fail "README has no order of six steps: $(cat README.order)"
for page in report plan recheck arrange; do
    order_on one.seams/$page.html >$page.order
    cmp -s README.order $page.order || fail "$page.html has another order of work than README: $(cat $page.order)"
done
sed 's/^\*\*\([^*]*\)\.\*\*.*/\1/' README.order | tr '[:upper:]' '[:lower:]' | tr '\n' ';' | sed 's/;$/.\n/; s/;/; /g' >names.order
cmp -s names names.order || fail "the plan's text has '$(cat names)', README '$(cat names.order)'"

# Where nothing is open nobody is sent to work.
run 0 inspect "$source/samples/ferry-1.jpg" -r 80/48 --step 2 -t 5 -o fine.seams
[ -z "$(order_on fine.seams/report.html)" ] || fail "an order of work where all is within"
run 0 plan fine.seams
[ -z "$(order_on fine.seams/plan.html)" ] || fail "an order of work where nothing is to be done"
! grep -q "Order of work" "$results/out" || fail "an order of work where nothing is to be done"
prints "Next: Sand nothing"
rm -r one.seams fine.seams names ./*.order
holds
finish

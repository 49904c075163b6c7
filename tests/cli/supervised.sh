# The command runs in a child process: whatever ends the child, the program ends as promised and no process is left.
. "$2/tests/cli/tools/check.sh"

# A photo that takes a second or more, and an older result.
photo=$source/samples/weir.jpg
run 1 inspect "$photo" --no-pictures -o table.seams
cp -r table.seams old.seams

# Needs a kernel that lists a process's children.
if [ ! -e "/proc/$$/task/$$/children" ]; then
    echo "no /proc/PID/task/PID/children: nothing tested"
    exit 77
fi
alive() {
    [ -d "/proc/$1" ] && ! grep -q ') Z ' "/proc/$1/stat" 2>/dev/null
}
# Waits for it: up to five seconds.
gone() {
    tries=0
    while alive "$1" && [ $tries -lt 100 ]; do
        sleep 0.05
        tries=$((tries + 1))
    done
    ! alive "$1"
}
# begin: the program inspects in the background as $parent, its child is $child.
begin() {
    what="seamwright inspect, $1"
    # Not through a function or subshell: $! must be the program. Signals that a script ignores in the background come back.
    env --default-signal=INT,QUIT "$program" inspect "$photo" --no-pictures -o table.seams >"$results/out" 2>"$results/err" &
    parent=$!
    child=
    tries=0
    while [ -z "$child" ] && [ $tries -lt 200 ]; do
        sleep 0.01
        tries=$((tries + 1))
        read -r child _ <"/proc/$parent/task/$parent/children"
    done
    [ -n "$child" ] || fail "$what: no child process"
}
# ended STATUS: the program ends with it, no process is left, the old result stands.
ended() {
    wait "$parent"
    got=$?
    [ "$got" -eq "$1" ] || fail "$what: exit status $got, not $1"
    gone "$child" || fail "$what: the child is left"
    prints_nothing
    diff -r old.seams table.seams >/dev/null || fail "$what: the old result changed"
    holds old.seams table.seams
}

# Whatever kills the child is a failure, said in one line.
# Not SEGV and FPE, which sanitizers answer themselves.
for signal in KILL ABRT XCPU; do
    begin "its child is sent $signal"
    kill -$signal "$child"
    ended 2
    says "seamwright: ran out of memory or failed inside a library"
    says "nothing was written"
    [ "$(wc -l <"$results/err")" -eq 1 ] || fail "$what: not one line"
done

# Signals that end a program by custom reach the child, and the program ends by the same: 128 and the signal's number.
for signal in HUP:129 INT:130 TERM:143; do
    begin "sent ${signal%:*}"
    kill "-${signal%:*}" "$parent"
    ended "${signal#*:}"
    says_nothing
done

# No orphan is left.
begin "killed"
kill -KILL "$parent"
ended 137
says_nothing

# A reader of standard output that has gone away ends a program by custom, too.
{
    sleep 0.1
    "$program" card -o piped.pdf 2>"$results/err"
    echo $? >"$results/status"
} | true
[ "$(cat "$results/status")" = 141 ] || fail "no one reads: exit status $(cat "$results/status"), not 141"
says_nothing

# What the shell ignores stays ignored.
(trap '' HUP && exec "$program" inspect "$photo" --no-pictures -o ignored.seams) >"$results/out" 2>"$results/err" &
parent=$!
sleep 0.1
kill -HUP $parent
wait $parent
[ $? -eq 1 ] || fail "an ignored HUP ended it"

# A child that exits whose status was not said: see tests/faults. An ignored SIGCHLD, as some services leave it, hides no
# status.
(trap '' CHLD && exec "$program" card -o card.pdf) >"$results/out" 2>"$results/err" || fail "card under an ignored SIGCHLD"
(trap '' CHLD && exec "$program" card -o /no/such/card.pdf) >"$results/out" 2>"$results/err"
[ $? -eq 2 ] || fail "a refusal under an ignored SIGCHLD: not 2"
[ "$(wc -l <"$results/err")" -eq 1 ] || fail "a refusal under an ignored SIGCHLD: not one line"
finish

# Plain cards without --reference: taken for 100 mm, and said before everything else.
. "$2/tests/cli/tools/check.sh"

# guess PHOTO TILE: the guess is told first, before the tiles' size, and in the file, too; figures are those of --reference 100.
guess() {
    photo=$source/samples/$1.jpg
    run 1 inspect "$photo" --step 2 --no-pictures -o guessed.seams
    head -1 "$results/out" | grep -q "^Guessed: No frame card was found, but 2 plain squares: they are taken to be 100 mm a side\. .*measure a \
card and say so, like --reference 99\.6x99\.8\.$" || fail "$1: the guess is not said first"
    sed -n 3p "$results/out" | grep -q "^2 x 2 tiles of $2 mm, by cards of 100 mm" || fail "$1: the tiles' size does not follow"
    ! grep "^Mind: " "$results/out" | grep -q "No frame card" || fail "$1: the guess is said twice"
    head -1 "$results/err" | grep -q "warning: No frame card" || fail "$1: no warning of the guess"
    grep -q '"kind": *"card guessed"' guessed.seams/inspection.json || fail "$1: no note of the guess"
    run 1 inspect "$photo" --step 2 --no-pictures -r 100 -o said.seams
    ! grep -q "Guessed" "$results/out" || fail "$1: a guess although the card was said"
    ! grep -q "card guessed" said.seams/inspection.json || fail "$1: a note of a guess although the card was said"
    cmp -s guessed.seams/seams.csv said.seams/seams.csv || fail "$1: other figures than with --reference 100"
}
guess mill-meadow 250
guess millpond 200

# A second round goes on with the guess, and says so, too; unless the card is said now.
run 1 inspect "$source/samples/millpond.jpg" --step 2 --no-pictures --after guessed.seams -o next.seams
head -1 "$results/out" | grep -q "^Guessed: " || fail "a second round does not tell of the guess"
run 1 inspect "$source/samples/millpond.jpg" --step 2 --no-pictures --after guessed.seams -r 100 -o next.seams
! grep -q "^Guessed: " "$results/out" || fail "a second round guesses although the card was said"
run 1 inspect "$source/samples/millpond.jpg" --step 2 --no-pictures --after said.seams -o next.seams
! grep -q "^Guessed: " "$results/out" || fail "a second round guesses although the card was said in the first"
rm -r guessed.seams said.seams next.seams

# Who says frames gets no guess.
refuse "no reference square of 100/60 mm found" inspect "$source/samples/millpond.jpg" -r 100/60
holds
finish

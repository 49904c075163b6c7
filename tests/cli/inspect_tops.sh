# seamwright inspect with two photos of a table of uneven tops (samples/gravel-bank-1 and -2): heights come without being asked for;
# photos of two tables are refused, whatever their size.
. "$2/tests/cli/tools/check.sh"

cp "$source/samples/gravel-bank-1.jpg" west.jpg
cp "$source/samples/gravel-bank-2.jpg" east.jpg

# B2 was made 10 mm higher than A1 (samples/README.md).
run 1 inspect west.jpg east.jpg --no-pictures
prints "The highest top, B2, stands "
grep -q 'B2, stands \(9\.[5-9]\|10\.[0-5]\) ± 0\.[0-9] mm above the lowest, A1' "$results/out" ||
    fail "B2 does not stand 10 mm above A1: $(grep 'highest top' "$results/out")"
prints "2 photos combined"
[ "$(grep -o '"height_mm": -\{0,1\}[0-9]' west.seams/inspection.json | wc -l)" -eq 6 ] || fail "not six heights"
! grep -q '"kind": "heights unknown"' west.seams/inspection.json || fail "heights are said not to be known"

# Tables of other counts of tiles, and of the same count: one with a tile that lies otherwise.
rm -r west.seams
cp "$source/samples/valley-north.jpg" north.jpg
refuse "north.jpg (photo 2) does not show the same table as west.jpg (photo 1)" inspect west.jpg north.jpg
refuse "west.jpg (photo 2) does not show the same table as north.jpg (photo 1)" inspect north.jpg west.jpg
holds west.jpg east.jpg north.jpg
finish

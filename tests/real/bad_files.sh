# The program on real damaged and hostile files: exit status 2, one line that names the file and says what to do, nothing
# left behind. Which sentence belongs to which file: test_real_photo. Skipped (exit status 77) without ../shared.
folder=${SEAMWRIGHT_SHARED:-$2/../shared}/real/bad-files
if [ ! -d "$folder" ]; then
    echo "SKIPPED: there is no $folder (SEAMWRIGHT_SHARED may name the folder that holds real/bad-files)"
    exit 77
fi
. "$2/tests/cli/tools/check.sh"
cp "$folder"/* .

count=0
for file in *; do
    refuse "$file: " inspect "$file"
    refuse "only 0 of the 3 photos can be used" lens -o lens.json "$file" "$file" "$file"
    count=$((count + 1))
done
[ "$count" -ge 11 ] || fail "only $count files in $folder"
echo "$count files refused, by inspect and by lens"
finish

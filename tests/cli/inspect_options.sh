# seamwright inspect: its options and everything it refuses; a refusal leaves nothing behind.
. "$2/tests/cli/tools/check.sh"

# A picture with a card and no table: readable, but there is nothing to inspect.
run 0 card -o card.pdf
pdftoppm -r 100 -png -singlefile card.pdf card
rm card.pdf
echo "no photo" >bad.jpg

refuse "name the photo to inspect" inspect
refuse "other.jpg: cannot be opened" inspect bad.jpg other.jpg
refuse "none.jpg: " inspect none.jpg
refuse "bad.jpg: " inspect bad.jpg

# Each option's slips.
refuse "--tile 300mm: leave the unit out" inspect card.png --tile 300mm
refuse "--tile 30cm: leave the unit out" inspect card.png --tile=30cm
refuse "--tile 2: it must be from 20 to 2000 mm" inspect card.png --tile 2
refuse "--tile -300: it must be greater than zero" inspect card.png --tile -300
refuse "--reference 100-60: " inspect card.png --reference 100-60
refuse "--reference 100-60: " inspect card.png -r 100-60
refuse "not a comma" inspect card.png --reference 99,6x99,8
refuse "outer side first" inspect card.png --reference 60/100
refuse "--table 3: " inspect card.png --table 3
refuse "1 to 26 tiles across" inspect card.png --table 27x3
refuse "--tolerance 0: " inspect card.png --tolerance 0
refuse "--tolerance nan: " inspect card.png -t nan
refuse "--height 0: " inspect card.png --height 0
refuse "--height A1: name a tile by its letter and number, like 45, or 45,A1=55" inspect card.png --height A1
refuse "--height A1=900: it must be from 0.5 to 500 mm" inspect card.png --height A1=900
refuse "--height 45,A1=55mm: leave the unit out" inspect card.png --height 45,A1=55mm
refuse "--height 45,46: only one height may stand without a tile's name" inspect card.png --height=45,46
refuse "tile A1 is named twice" inspect card.png --height A1=45,A1=46
refuse "write it like" inspect card.png --height 45,
refuse "--step 0: " inspect card.png --step 0
refuse "--step : the value is empty" inspect card.png --step=
refuse "--corners 1,2,3: it takes eight numbers with commas between them" inspect card.png --corners 1,2,3
refuse "--square 10,10,90,10,90,90,10,9o: it takes eight numbers" inspect card.png --square=10,10,90,10,90,90,10,9o
refuse "card.png: --corners 900,10 lies outside the picture, which is 827 x 1170 pixels" \
    inspect card.png --corners 10,10,900,10,900,800,10,800
refuse "card.png: --square -10,10 lies outside the picture" inspect card.png --square -10,10,90,10,90,90,10,90
refuse "card.png: two corners of --square, 90,10 and 90,20, are less than 60 pixels apart" inspect card.png --square 10,10,90,10,90,20,10,20
refuse "card.png: the corners of --corners at 10,10 700,10 350,900 350,300 are not those of a square or rectangle" \
    inspect card.png --corners 10,10,700,10,350,900,350,300
refuse "--no-pictures=yes takes no value" inspect card.png --no-pictures=yes
for option in --card-thickness --corners --square --tile --reference --table --tolerance --lens --height --step --output -o -r -t -l; do
    refuse "$option needs a value" inspect card.png $option
done

# All options at once, in both forms, and behind the photo or before it: understood, so the message is about the photo.
refuse "bad.jpg: " inspect bad.jpg --tile=300 --reference=99.6x99.8/59.7x59.9 --table=3x3 --tolerance=0.5 --height=45 \
    --corners=1,1,100,1,100,100,1,100 --square=1,1,100,1,100,100,1,100 --square=1,1,90,1,90,90,1,90 --step=2 \
    --no-pictures --output=out
refuse "bad.jpg: " inspect --tile 300 -r 100 --table 3x3 -t .5 --height 45 --step 2 --no-pictures -o out bad.jpg
refuse "./--tile: " inspect -- ./--tile

# Where the results go is looked at first: with a file that is no photo, the message is about the folder.
mkdir full empty
echo mine >full/notes.txt
echo mine >file
refuse "full: this folder holds no inspection" inspect bad.jpg -o full
refuse "full: this folder holds no inspection" inspect bad.jpg -o full/
refuse "file: there is a file of this name" inspect bad.jpg -o file
refuse "make its folder first" inspect bad.jpg -o none/out
refuse "the folder you are in" inspect bad.jpg -o .
refuse "name a folder" inspect bad.jpg -o ""
refuse "bad.jpg: " inspect bad.jpg -o empty
# The default is the photo's own place and name, whatever its ending.
mkdir photos photos/bad.seams photos/v1.seams
echo mine | tee photos/bad.seams/notes.txt photos/v1.seams/notes.txt photos/bad.jpg photos/v1.2.jpg >photos/v1
refuse "photos/bad.seams: this folder" inspect photos/bad.jpg
refuse "photos/v1.seams: this folder" inspect photos/v1
refuse "v1.2.jpg: " inspect photos/v1.2.jpg

# Lens profiles: not there, not one, and one of another picture size (both sizes are named).
echo "{}" >no.lens.json
row="[0,0,0,0,0,0,0,0,0]"
cat >other.lens.json <<PROFILE
{ "format": "seamwright-lens", "format_version": 1, "source": "profile", "camera": "", "focal_mm": 0.0,
  "width_px": 4000, "height_px": 3000, "photos": 8, "fx_px": 3000.0, "fy_px": 3000.0, "cx_px": 1999.5, "cy_px": 1499.5,
  "k1": 0.0, "k2": 0.0, "p1": 0.0, "p2": 0.0, "k3": 0.0, "residual_px": 0.3, "covered": 0.8, "square_mm": 25.0,
  "covariance": [$row,$row,$row,$row,$row,$row,$row,$row,$row] }
PROFILE
refuse "none.lens.json: " inspect card.png --lens none.lens.json
refuse "no.lens.json: " inspect card.png --lens no.lens.json
refuse "other.lens.json: this profile is for pictures of 4000 x 3000 pixels, but card.png has 827 x 1170" \
    inspect card.png -l other.lens.json

# A picture of a card alone: looked at, nothing to measure there.
refuse "card.png: " inspect card.png
refuse "card.png: " inspect card.png --no-pictures -o out
finish

#!/usr/bin/env python3
"""Makes one photo of a table of tiles whose shape is known, and its truth file.

usage: table.py RECIPE.json OUT      writes OUT.jpg and OUT.truth.json
       table.py --random SEED OUT    the same from a random recipe, which goes to OUT.recipe.json
       table.py ... --set key=value  changes an entry (value as JSON)
Needs Python 3 with numpy and Pillow.
"""
import json
import math
import sys
import time

import numpy as np

import carry
import compose
import floor
import lens
import light
import marks
import push
import recipe
import scene
import sensor
import tiles as shapes


FLAT_MM = 0.2    # a scatter of the tops over which a card may still lie across a seam
AROUND_PX = 2    # photo pixels a sample of the table-top
GRAIN_PX = 0.8   # a sample of the tops' grain, in pixels of a photo that the table fills: the same from wherever it is looked at


def build_tiles(opt):
    rng = np.random.default_rng([opt["seed"], 1])
    quality = {"slope": opt["slope"], "offset_mm": opt["offset"], "bow_mm": opt["bow"], "wave_mm": opt["wave"], "fine_mm": opt["fine"],
               "chips": opt["chips"], "lean_deg": opt["lean"], "rise_mm": opt["rise"]}
    tiles = shapes.make_tiles(rng, opt["columns"], opt["rows"], opt["tile"], quality)
    for name, more_mm in opt["heights"].items():
        if name not in tiles:
            raise SystemExit("recipe: heights: there is no tile " + name)
        tiles[name].rise_mm += float(more_mm)
    if opt["sand"]:
        shapes.sand(np.random.default_rng([opt["seed"], 8]), tiles, *opt["sand"])
    round_rims(np.random.default_rng([opt["seed"], 10]), tiles, opt["rim"], opt["rim_by"])
    slant_tops(np.random.default_rng([opt["seed"], 12]), tiles, opt["askew"])
    carry.carry_out(tiles, opt["carried_out"], opt["tile_height"])
    lay(opt, tiles)
    return tiles


def lay(opt, tiles):
    if opt["lay"] not in ("rows", "push"):
        raise SystemExit("recipe: lay: it must be rows or push")
    rng = np.random.default_rng([opt["seed"], 2] + ([opt["laid"]] if opt["laid"] else []))
    shapes.lay(rng, tiles, opt["columns"], opt["rows"], opt["gaps"], opt["touching"], opt["slip"], opt["turn"], opt["tile_height"])
    if opt["lay"] == "push":
        push.push(tiles, opt["tile_height"])


def round_rims(rng, tiles, rim, by):
    """rim: one radius, one for each tile named, or [from, to]."""
    def drawn():
        return round(float(rng.uniform(*rim)), 3)
    for name, tile in tiles.items():
        if isinstance(rim, list) and by == "edge":
            tile.rounds_mm = {s: drawn() for s in shapes.SIDES}
        else:
            one = drawn() if isinstance(rim, list) else rim.get(name, 0.0) if isinstance(rim, dict) else rim
            tile.rounds_mm = dict.fromkeys(shapes.SIDES, float(one))
    if isinstance(rim, dict) and set(rim) - set(tiles):
        raise SystemExit("recipe: rim: there is no tile " + ", ".join(sorted(set(rim) - set(tiles))))


def slant_tops(rng, tiles, askew):
    """askew: [from, to] degrees, or slopes east and north by tile."""
    for name, tile in tiles.items():
        if isinstance(askew, dict):
            tile.slope = tuple(float(v) for v in askew.get(name, (0, 0)))
        elif askew:
            steep, way = math.tan(math.radians(rng.uniform(*askew))), rng.uniform(0, 2 * math.pi)
            tile.slope = (steep * math.cos(way), steep * math.sin(way))
    if isinstance(askew, dict) and set(askew) - set(tiles):
        raise SystemExit("recipe: askew: there is no tile " + ", ".join(sorted(set(askew) - set(tiles))))


def card_places(rng, opt):
    last, side = (opt["columns"] - 1, opt["rows"] - 1), opt["tile"]
    uneven = opt["heights"] or opt["askew"] or opt["rise"] > FLAT_MM
    if opt["squares"] == 1 and not uneven:
        middle = np.array([last[0] * side, -last[1] * side]) / 2
        return [[*(middle + rng.uniform(-30, 30, 2)), float(rng.uniform(-20, 20))]]
    corners = [(0, 0), (last[0], last[1]), (last[0], 0), (0, last[1])]
    if opt["squares"] == 1:
        corners = [(last[0] // 2, last[1] // 2)]
    elif opt["squares"] == "each":
        corners = [(c, r) for r in range(opt["rows"]) for c in range(opt["columns"])]
    else:
        corners = list(dict.fromkeys(corners[:opt["squares"]]))
    # the whole paper stays on its tile, turned by up to 15 degrees (a factor of 1.23), and out of a higher tile's shadow
    step = max([0.0, *opt["heights"].values()]) - min([0.0, *opt["heights"].values()])
    room = max(0.0, side / 2 - 1.23 * (opt["side"] / 2 + opt["margin"]) - 6 - 1.5 * step)
    return [[c * side + float(rng.uniform(-room, room)), -r * side + float(rng.uniform(-room, room)), float(rng.uniform(-15, 15))]
            for c, r in corners]


def looks(opt):
    names = opt["colours"]

    def top(tile):
        return np.array(recipe.COLOURS[names[(tile.column + tile.row) % len(names)]])
    wood = floor.Wood(np.random.default_rng([opt["seed"], 11]), opt["wood"], opt["wood_turn"])
    return {"height_mm": opt["tile_height"], "top": top, "foam": lambda tile: 0.95 * top(tile) + 0.02, "ply": (0.40, 0.28, 0.17),
            "wood": wood}


def frame(camera, top_mm, margin_mm):
    """The rectangle on the plane of the tops that holds everything the frame sees: two corners."""
    zero = np.zeros(60)
    left, right, top, bottom = zero - 2, zero + camera.width + 1, zero - 2, zero + camera.height + 1
    level, upright = np.linspace(-2, camera.width + 1, 60), np.linspace(-2, camera.height + 1, 60)
    px, py = np.concatenate([level, left, right, level]), np.concatenate([top, upright, upright, bottom])
    x, y = camera.plane(px, py, top_mm)
    return np.array([x.min(), y.min()]) - margin_mm, np.array([x.max(), y.max()]) + margin_mm


def render(stage, pixel_mm, seen, fineness, say):
    """All that compose.py does not shade itself: (patches, the picture around).  seen: two corners of what the frame sees."""
    patches = scene.Patches(stage, pixel_mm).all()
    for i, p in enumerate(patches):
        say("patch %d of %d" % (i + 1, len(patches)))
        p.render()
    return patches, scene.around(stage, *seen, AROUND_PX * pixel_mm / fineness)


def camera_for(opt, truth):
    corners = [c for t in truth["tiles"].values() for c in t["corners"].values()]
    return lens.above_table(opt["width"], opt["height"], opt["f"], opt["dist"], corners, opt["tile_height"], opt["tilt"],
                            opt["tilt_toward"], opt["rotate"], opt["fill"], opt["shift"])


def surface(opt, tiles, truth, pixel_mm):
    """What texture and pencil leave of the tops' light, as a function of the place; adds the pencil's marks to the truth."""
    corners = np.array([c for t in truth["tiles"].values() for c in t["corners"].values()])
    lo, hi = corners.min(axis=0) - 12, corners.max(axis=0) + 12
    pitch_mm = GRAIN_PX * opt["tile"] * max(opt["columns"] / opt["width"], opt["rows"] / opt["height"])
    grain, ink = compose.Raster(lo, hi, pitch_mm), compose.Raster(lo, hi, 0.25 * pixel_mm)
    compose.texture(np.random.default_rng([opt["seed"], 3]), grain, opt["texture"], opt["texture_amount"])
    drawn = compose.pencil(np.random.default_rng([opt["seed"], 4]), ink, tiles, opt, np.random.default_rng([opt["seed"], 9]))
    truth["marks"] = marks.truth(tiles, drawn)
    return grain.at if ink.values is None else lambda x, y: grain.at(x, y) * ink.at(x, y) / 255


def make_cards(opt, tiles):
    places = card_places(np.random.default_rng([opt["seed"], 6]), opt)
    under = [min(tiles.values(), key=lambda t: math.dist(t.pose[:2], at[:2])) for at in places]
    return [compose.Card(opt["reference"], opt["side"], opt["inner"], opt["margin"], at, tile, opt["thickness"], opt["ink_spread"])
            for at, tile in zip(places, under)]


def look(opt, tiles, truth, say):
    """What the camera looks at, and what its sensor needs to know of the light: (compose.Picture, options of sensor.develop).
    Adds camera and reference to the truth."""
    camera = camera_for(opt, truth)
    pixel_mm = (camera.at[2] - opt["tile_height"]) / camera.f
    middle = np.mean([t["pose"][:2] for t in truth["tiles"].values()], axis=0)
    environment = light.make(opt["light"], opt["light_toward"], middle, opt["tile_height"])
    tones, cards, seen = looks(opt), make_cards(opt, tiles), scene.Seen(camera.at, opt["tile_height"])
    tones["paint"] = surface(opt, tiles, truth, pixel_mm)
    places = [card.at for card in cards]
    say("light")
    whole = frame(camera, opt["tile_height"], AROUND_PX * pixel_mm)
    stage = scene.Scene(environment, tiles, tones, seen, whole, opt["fineness"])
    patches, around = render(stage, pixel_mm, whole, opt["fineness"], say)
    picture = compose.Picture(camera, stage, patches, around, cards, pixel_mm)
    level = environment.level(*(np.array([p[i] for p in places]) for i in (0, 1)), opt["tile_height"])
    balance = 1 / level.mean(axis=0) ** 0.9  # phones leave a little of the lamp's tint
    develop = {**opt, "gain": opt["exposure"] / (0.8 * float((level * balance).max())), "balance": balance}
    truth["camera"] = {**camera.truth(), "blur": opt["blur"], "jpeg": opt["jpeg"]}
    truth["reference"] = {"side": opt["side"], "inner": opt["inner"] if opt["reference"] == "frame" else 0.0,
                          "margin": 0.0 if opt["reference"] == "cut" else opt["margin"],
                          "at": [[*card.at, card.rise_mm - card.thickness] if off_level(tiles) else card.at for card in cards],
                          "kind": opt["reference"], "thickness": opt["thickness"], "ink_spread": opt["ink_spread"]}
    for seam in truth["seams"].values():
        seam["start_px"] = camera.project([*seam["start"], opt["tile_height"]])[0].tolist()
    return picture, develop


def photograph(opt, tiles, truth, say):
    """The photo as a picture; adds camera and reference to the truth."""
    picture, develop = look(opt, tiles, truth, say)
    say("putting the picture together")
    noise = [opt["seed"], 7] + ([opt["shot"]] if opt["shot"] else [])
    return sensor.develop(np.random.default_rng(noise), compose.expose(picture), develop)


def make_truth(opt, tiles):
    truth = shapes.truth(tiles)
    heights = {n: opt["tile_height"] + t.rise_mm for n, t in tiles.items()} if off_level(tiles) else {}
    truth.update({"heights": heights, "tile_height": opt["tile_height"], "rows": opt["rows"], "cols": opt["columns"],
                  "tile": opt["tile"]})
    if any(any(t.slope) for t in tiles.values()):
        truth["tilt"] = {n: list(t.slope) for n, t in tiles.items()}
    if any(any(t.rounds_mm.values()) for t in tiles.values()):
        if opt["rim_by"] == "edge":
            truth["rims"] = {n: t.rounds_mm for n, t in tiles.items()}
        else:
            truth["rim"] = {n: t.rounds_mm["N"] for n, t in tiles.items()}
    return truth


def off_level(tiles):
    return any(t.rise_mm or any(t.slope) for t in tiles.values())


def write_json(path, what):
    with open(path, "w") as file:
        json.dump(what, file)
        file.write("\n")


def make(opt, out, say=lambda text: None):
    tiles = build_tiles(opt)
    truth = make_truth(opt, tiles)
    image = photograph(opt, tiles, truth, say)
    sensor.save(image, out + ".jpg", opt["jpeg"], opt["camera"], opt["f"], sensor.day(opt["seed"], opt["days"]))
    write_json(out + ".truth.json", truth)


def main(args):
    changes = {}
    while "--set" in args:
        i = args.index("--set")
        key, value = args[i + 1].split("=", 1)
        changes[key] = json.loads(value)
        del args[i:i + 2]
    if args[:1] == ["--random"] and len(args) == 3:
        opt, out = recipe.random(int(args[1])), args[2]
        write_json(out + ".recipe.json", opt)
    elif len(args) == 2:
        with open(args[0]) as file:
            opt, out = recipe.complete(json.load(file)), args[1]
    else:
        raise SystemExit(__doc__)
    start = time.time()
    make(recipe.complete({**opt, **changes}), out,
         lambda text: print("\r%-60s" % text, end="", file=sys.stderr) if sys.stderr.isatty() else None)
    print("%s.jpg, %s.truth.json: %.0f s" % (out, out, time.time() - start))


if __name__ == "__main__":
    main(sys.argv[1:])

"""What is in the picture and how it lies there, what the program is told about the table, and pictures pulled out of shape."""
import math

import numpy as np
from PIL import Image, ImageDraw

import alter_cover
import alter_process
import warp
from kinds import kind
from picture import TO_LINEAR, tile_name


# ---- what the program is told -------------------------------------------------------------------------------------

@kind("tile-told", (0.9, 0.5, 2.0), "times the tiles' true side is told")
def tile_told(scene, scale, rng):
    scene.options["--tile"] = "%g" % (scene.truth["tile"] * scale)


@kind("table-told", ("more", "fewer", "turned"), "a table that is told: one column more, one fewer, columns for rows")
def table_told(scene, how, rng):
    c, r = scene.truth["cols"], scene.truth["rows"]
    wrong = {"more": (c + 1, r), "fewer": (max(1, c - 1), r), "turned": (r, c) if r != c else (c + 2, r - 1)}[how]
    scene.options["--table"] = "%dx%d" % wrong


@kind("tile-and-table-told", (0.5, 2.0, 1.5), "times the tiles' side is told, and the table that would fit it")
def tile_and_table_told(scene, scale, rng):
    tile_told(scene, scale, rng)
    scene.options["--table"] = "%dx%d" % (max(1, round(scene.truth["cols"] / scale)), max(1, round(scene.truth["rows"] / scale)))


@kind("height-told", (10, 150, 500), "mm that are told for --height; the tops stand 45 mm high")
def height_told(scene, height, rng):
    scene.options["--height"] = "%g" % height


@kind("heights-told", (1, 4, 12), "mm that one tile with a card on it is told to stand higher than it does")
def heights_told(scene, more, rng):
    names = sorted({min(scene.truth["tiles"], key=lambda n: math.dist(scene.tile_middle(n), c[:2])) for c in scene.cards()})
    scene.options["--height"] = "45,%s=%g" % (names[rng.integers(len(names))], 45 + more)


# ---- tops ---------------------------------------------------------------------------------------------------------

def tops_mask(scene):
    """Cover (0 to 1) of the table without the cards: print reaches to the rims, and what is dark between them stays dark."""
    mask = Image.fromarray(scene.inside_table())
    draw = ImageDraw.Draw(mask)
    for x, y, turn in scene.cards():
        a = math.radians(turn) + np.pi / 4 + np.arange(4) * np.pi / 2
        reach = (scene.card_half() + 1) * math.sqrt(2)
        draw.polygon([tuple(p) for p in scene.px(np.column_stack([x + reach * np.cos(a), y + reach * np.sin(a)]))], fill=0)
    return alter_process.gaussian(np.asarray(mask, np.float32) / 255, 0.7)


def dim_tops(scene, pattern):
    """pattern: brightness (h, w) of what is printed."""
    scene.put(scene.linear() * (1 - tops_mask(scene) * (1 - pattern))[..., None])


@kind("tops-printed", (0.9, 0.65, 0.35), "brightness of patches printed on the tops, as a map's fields and woods")
def tops_printed(scene, share, rng):
    w, h = scene.size()
    wave = np.zeros((h, w), np.float32)
    y, x = np.mgrid[0:h, 0:w].astype(np.float32) / np.float32(scene.px_per_mm)
    for _ in range(8):
        turn, length = rng.uniform(0, np.pi), rng.uniform(18, 70)
        wave += np.sin((x * math.cos(turn) + y * math.sin(turn)) * np.float32(2 * np.pi / length) + rng.uniform(0, 6)).astype(np.float32)
    dim_tops(scene, 1 - (1 - share) * np.clip(wave * 6 + 0.5, 0, 1))


@kind("tops-grid", (0.9, 0.65, 0.35), "brightness of a printed grid of lines, 0.5 mm wide every 50 mm, straight along the seams")
def tops_grid(scene, share, rng):
    tile = scene.truth["tile"]
    for name in scene.truth["tiles"]:
        for k in np.arange(-tile / 2 + 25, tile / 2 - 10, 50):
            for side in "NW":
                line = scene.edge_at(name, side, np.linspace(-tile / 2 + 2, tile / 2 - 2, 20))
                line = line + ((0, -(tile / 2 + k)) if side == "N" else (tile / 2 + k, 0))
                scene.dim([scene.band(line, 0.5)], share)


@kind("tops-speckled", (0.12, 0.3, 0.6), "depth of coarse grains in the tops, 1 to 3 mm")
def tops_speckled(scene, depth, rng):
    w, h = scene.size()
    step = max(2, int(1.5 * scene.px_per_mm))
    grains = rng.random((h // step + 2, w // step + 2)).astype(np.float32)
    fine = np.asarray(Image.fromarray(grains).resize((w, h), Image.BILINEAR))
    dim_tops(scene, 1 - depth * np.clip(2.5 * (fine - 0.45), 0, 1))


@kind("tops-two-tones", (0.8, 0.5, 0.2), "brightness of a field painted on every second tile's top, to 4 mm from its rims")
def tops_two_tones(scene, share, rng):
    for name in scene.truth["tiles"]:
        outline = scene.tile_outline(name)
        cards = [c for c in scene.cards() if math.dist(c[:2], scene.tile_middle(name)) < scene.truth["tile"] * 0.7]
        if (ord(name[0]) + int(name[1:])) % 2 and not cards:
            scene.dim([scene.px(outline - 4 * np.sign(outline - scene.tile_middle(name)), name)], share)


# ---- what the frame cuts off --------------------------------------------------------------------------------------

def lift(scene, past_px):
    """Turns the camera so that the table's north rim comes to lie past_px above the frame's upper end."""
    columns = scene.truth["cols"]
    corners = np.array([scene.tile_outline("A1")[0], scene.tile_outline(tile_name(columns - 1, 0))[1]])
    low, high = -40.0, 40.0
    for _ in range(40):
        down = (low + high) / 2
        there = warp.turned_camera(scene.camera, 0, down)[1]
        if there(scene.px(corners))[:, 1].min() > -past_px:
            low = down
        else:
            high = down
    back, there = warp.turned_camera(scene.camera, 0, down)
    warp.scene(scene, back, there=there)


@kind("rim-cut", (0.02, 0.05, 0.09), "of a tile's side: how much of the top row the frame cuts off")
def rim_cut(scene, share, rng):
    lift(scene, share * scene.truth["tile"] * scene.px_per_mm)
    scene.turns = ("as it is", "first row gone")


@kind("rim-touches", (12, 3, 0), "px between the table's rim and the frame's upper end")
def rim_touches(scene, room, rng):
    lift(scene, -room)
    scene.turns = ("as it is", "first row gone")


@kind("cropped", (0.3, 0.6, 0.95), "of the free table-top at the right and below that is cut away")
def cropped(scene, share, rng):
    inside = np.argwhere(scene.inside_table() > 0).max(axis=0)
    w, h = scene.size()
    scene.image = scene.image[:int(h - share * (h - 1 - inside[0])), :int(w - share * (w - 1 - inside[1]))].copy()


@kind("one-tile", ("told", "not told", "size told"), "a single tile with its card, the others taken away: told by --table 1x1, not told, told by --tile")
def one_tile(scene, how, rng):
    columns, rows = scene.truth["cols"], scene.truth["rows"]
    kept = min(scene.truth["tiles"], key=lambda n: min(math.dist(scene.tile_middle(n), c[:2]) for c in scene.cards()))
    corners = [(0, 0), (columns - 1, 0), (columns - 1, rows - 1), (0, rows - 1)]
    around = np.array([scene.tile_outline(tile_name(*c))[k] for k, c in enumerate(corners)])
    outline = around + 3 * np.sign(around - around.mean(axis=0))
    bare = scene.clean.copy()
    scene.lay([scene.px(outline)], alter_cover.table_top(scene), rng, noise=2.0)
    own = scene.tile_outline(kept)
    box = (0, 0, *scene.size())
    keep = scene.shape([scene.px(own + 0.4 * np.sign(own - own.mean(axis=0)), kept)], box)[..., None]
    scene.put(TO_LINEAR[bare] * keep + TO_LINEAR[scene.image] * (1 - keep))
    scene.gone = set(scene.truth["tiles"]) - {kept}
    scene.options.update({"told": {"--table": "1x1"}, "not told": {}, "size told": {"--tile": "%g" % scene.truth["tile"]}}[how])


@kind("two-tables", (120, 60, 20), "px between two pictures of the table, side by side", free=("angle", "length"))
def two_tables(scene, room, rng):
    ys, xs = np.nonzero(scene.inside_table())
    w, h = scene.size()
    m = 40
    x0, x1 = max(0, xs.min() - m), min(w, xs.max() + m)
    part = scene.clean[:, x0:x1]
    scale = (w - room) / 2 / part.shape[1]
    small = Image.fromarray(part).resize((int(part.shape[1] * scale), int(h * scale)), Image.LANCZOS)
    floor = np.median(scene.clean[:20].reshape(-1, 3), axis=0)
    out = np.clip(floor + rng.normal(0, 2, (h, w, 3)), 0, 255).astype(np.uint8)
    top = (h - small.size[1]) // 2
    for left in (0, w - small.size[0]):
        out[top:top + small.size[1], left:left + small.size[0]] = np.asarray(small)
    scene.image = out
    scene.moved = lambda p: (p + 0.5 - (x0, 0)) * scale - 0.5 + (0, top)
    scene.options.pop("--lens", None)  # no profile describes a picture put together


@kind("screen", (0.1, 0.25, 0.5), "depth of the pixels of a screen of which the photo was taken: moire")
def screen(scene, depth, rng):
    w, h = scene.size()
    y, x = np.mgrid[0:h, 0:w].astype(np.float32)
    turn, pitch = 0.02, 2.9
    u, v = (x * math.cos(turn) + y * math.sin(turn)) / pitch, (y * math.cos(turn) - x * math.sin(turn)) / pitch
    linear = scene.linear()
    for k in range(3):
        cells = 1 - depth * (0.5 + 0.5 * np.cos(2 * np.pi * (u + k / 3))) - depth * 0.6 * (0.5 + 0.5 * np.cos(2 * np.pi * v))
        linear[..., k] *= cells
    scene.put(linear * np.float32(1 / (1 - 0.8 * depth)))


# ---- turned and mirrored ------------------------------------------------------------------------------------------

@kind("turned", (30, 45, 60), "degrees by which the camera was turned, seen from higher up")
def turned(scene, degrees, rng):
    w, h = scene.size()
    middle, scale = np.array([(w - 1) / 2, (h - 1) / 2]), 0.72
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))

    def back(p):
        q = (np.asarray(p) - middle) / scale
        return middle + np.column_stack([c * q[:, 0] + s * q[:, 1], c * q[:, 1] - s * q[:, 0]])

    def there(p):
        q = np.asarray(p) - middle
        return middle + scale * np.column_stack([c * q[:, 0] - s * q[:, 1], s * q[:, 0] + c * q[:, 1]])
    warp.scene(scene, back, there=there)
    scene.turns = ("as it is", "left", "right", "half")
    scene.options.pop("--lens", None)


@kind("tagged", (3, 6, 8), "orientation tag: the picture is shown upside down, or lying on a side")
def tagged(scene, tag, rng):
    scene.tag = tag
    scene.turns = ({3: "half", 6: "right", 8: "left"}[tag],)


@kind("turned-pixels", (2, 1, 3), "quarter turns of the pixels themselves, by a program")
def turned_pixels(scene, quarters, rng):
    w, h = scene.size()
    scene.image = np.ascontiguousarray(np.rot90(scene.image, quarters))
    scene.moved = {1: lambda p: np.column_stack([p[:, 1], w - 1 - p[:, 0]]), 2: lambda p: (w - 1, h - 1) - p,
                   3: lambda p: np.column_stack([h - 1 - p[:, 1], p[:, 0]])}[quarters]
    scene.turns = ({1: "left", 2: "half", 3: "right"}[quarters],)


@kind("mirrored", ("east", "south", "both"), "mirrored east for west, north for south, or along a diagonal")
def mirrored(scene, how, rng):
    w, h = scene.size()
    scene.image = np.ascontiguousarray({"east": np.fliplr, "south": np.flipud, "both": lambda a: a.swapaxes(0, 1)}[how](scene.image))
    scene.moved = {"east": lambda p: (w - 1, 0) + p * (-1, 1), "south": lambda p: (0, h - 1) + p * (1, -1), "both": lambda p: p[:, ::-1]}[how]
    scene.turns = ({"east": "mirrored", "south": "mirrored half", "both": "mirrored left"}[how],)


# ---- pulled out of shape ------------------------------------------------------------------------------------------

@kind("rolling", (2, 6, 15), "px: how far the last row of the picture slid sideways while it was read out")
def rolling(scene, reach, rng):
    h = scene.size()[1]
    warp.scene(scene, lambda p: np.asarray(p) + np.column_stack([reach * (p[:, 1] / h - 0.5), np.zeros(len(p))]))


@kind("rolling-shaken", (0.5, 1.5, 4), "px: sideways swing of the rows while the picture was read out")
def rolling_shaken(scene, reach, rng):
    h, phase = scene.size()[1], rng.uniform(0, 6)
    warp.scene(scene, lambda p: np.asarray(p) + np.column_stack([reach * np.sin(p[:, 1] / h * 22 + phase), 0.4 * reach * np.sin(p[:, 1] / h * 17)]))


@kind("panorama", (1, 4, 10), "px: how far places are pulled off, in waves over the picture")
def panorama(scene, reach, rng):
    w, phase = scene.size()[0], rng.uniform(0, 6, 2)
    warp.scene(scene, lambda p: np.asarray(p) + reach * np.column_stack([np.sin(p[:, 1] / w * 14 + phase[0]), np.sin(p[:, 0] / w * 11 + phase[1])]))


@kind("stitched", (1, 3, 8), "px: offset between the two halves of a picture put together")
def stitched(scene, reach, rng):
    w, h = scene.size()
    at = w * rng.uniform(0.4, 0.6)
    turn = rng.uniform(0, 2 * np.pi)
    off = np.array([reach * math.cos(turn), reach * math.sin(turn)])
    warp.scene(scene, lambda p: np.asarray(p) + np.clip((p[:, :1] - at) / 40, 0, 1) * off)


@kind("stretched", (1.003, 1.01, 1.05), "times the width of the picture, its height as it was")
def stretched(scene, scale, rng):
    w, h = scene.size()
    warp.scene(scene, lambda p: np.column_stack([(np.asarray(p)[:, 0] - w / 2) * scale + w / 2, p[:, 1]]))


@kind("keystone", (0.02, 0.06, 0.15), "of the width by which a document mode squared the picture up")
def keystone(scene, share, rng):
    w, h = scene.size()
    middle = np.array([w / 2, h / 2])

    def back(p):
        q = np.asarray(p) - middle
        return middle + q * (1 - 0.02) / (1 + 2 * share * q[:, 1:] / h)
    warp.scene(scene, back)
    scene.options.pop("--lens", None)


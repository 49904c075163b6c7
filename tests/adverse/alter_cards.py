"""Cards: of another size, curled, creased, covered, raised, copied, fewer; and what the program is told about them."""
import math

import numpy as np

import alter_cover
import alter_process
import warp
from kinds import kind
from picture import TO_LINEAR, stored

RING_MM = 14.0   # around a changed card the top's grain gives way
WITH_INNER = "frame"


class CardView:
    """The pixels around a card or a place for one, and where they lie on it.  u, v: mm from the middle, along its sides."""

    def __init__(self, scene, at, half_mm, height_mm=None):
        self.scene, self.at = scene, np.asarray(at[:2], float)
        self.turn = math.radians(at[2])
        self.height = scene.truth["tile_height"] if height_mm is None else height_mm
        corners = self.world(np.array([-1, 1, 1, -1]) * half_mm, np.array([-1, -1, 1, 1]) * half_mm)
        self.box = scene.box(scene.camera.project(np.column_stack([corners, np.full(4, self.height)])), 6)
        if self.box is None:
            return
        x0, y0, x1, y1 = self.box
        y, x = np.mgrid[y0:y1, x0:x1].astype(float)
        self.x, self.y = scene.camera.plane(x, y, self.height)
        dx, dy = self.x - self.at[0], self.y - self.at[1]
        c, s = math.cos(self.turn), math.sin(self.turn)
        self.u, self.v = dx * c + dy * s, dy * c - dx * s

    def world(self, u, v):
        c, s = math.cos(self.turn), math.sin(self.turn)
        return np.stack([self.at[0] + u * c - v * s, self.at[1] + u * s + v * c], axis=-1)

    def pixels(self, u, v):
        """Pixels of places on this card."""
        p = self.world(u, v)
        flat = np.column_stack([p.reshape(-1, 2), np.full(p[..., 0].size, self.height)])
        return self.scene.camera.project(flat).reshape(p.shape)

    def put(self, linear, cover=None):
        x0, y0, x1, y1 = self.box
        old = TO_LINEAR[self.scene.image[y0:y1, x0:x1]]
        mixed = linear if cover is None else old + cover[..., None] * (linear - old)
        self.scene.image[y0:y1, x0:x1] = np.clip(stored(mixed) + 0.5, 0, 255).astype(np.uint8)


def pick_card(scene, rng):
    cards = scene.cards()
    return cards[rng.integers(len(cards))]


def near_card(scene, view):
    """1 on the card, falling to 0 over RING_MM around it."""
    far = np.maximum(np.abs(view.u), np.abs(view.v)) - scene.card_half() - 1.0
    return np.clip(1 - far / RING_MM, 0, 1)


def reshape(scene, card, source):
    """Redraws a card: what lay at source(u, v) is now seen at u, v."""
    view = CardView(scene, card, scene.card_half() + RING_MM + 3)
    if view.box is None:
        return
    weight = near_card(scene, view)
    u, v = source(view.u, view.v, view)
    px = view.pixels(view.u + weight * (u - view.u), view.v + weight * (v - view.v))
    view.put(warp.sample(scene_linear(scene, view.box, 40), px - corner(scene, view.box, 40)))


def corner(scene, box, room):
    return np.array([max(0, box[0] - room), max(0, box[1] - room)])


def scene_linear(scene, box, room):
    x0, y0 = corner(scene, box, room)
    return TO_LINEAR[scene.image[y0:box[3] + room, x0:box[2] + room]]


# ---- one card that is not as it should be ---------------------------------------------------------------------------

@kind("card-scaled", (0.99, 0.97, 0.94), "times the size of one card")
def card_scaled(scene, scale, rng):
    reshape(scene, pick_card(scene, rng), lambda u, v, view: (u / scale, v / scale))


@kind("card-stretched", (0.995, 0.985, 0.96), "times the length of one card, its width as it was")
def card_stretched(scene, scale, rng):
    reshape(scene, pick_card(scene, rng), lambda u, v, view: (u / scale, v))


@kind("cards-stretched", (0.995, 0.985, 0.96), "times the length of all cards, as a printer makes them")
def cards_stretched(scene, scale, rng):
    for card in scene.cards():
        reshape(scene, card, lambda u, v, view: (u / scale, v))


@kind("cards-unlike", (0.004, 0.01, 0.03), "scatter of all cards' sizes, share")
def cards_unlike(scene, scatter, rng):
    for card, step in zip(scene.cards(), np.linspace(-1.5, 1.5, len(scene.cards()))):
        scale = 1 + scatter * step
        reshape(scene, card, lambda u, v, view: (u / scale, v / scale))


@kind("card-skewed", (0.003, 0.01, 0.03), "one card cut and printed out of square, mm per mm")
def card_skewed(scene, skew, rng):
    reshape(scene, pick_card(scene, rng), lambda u, v, view: (u - skew * v, v))


def raised(scene, height):
    """What height(u, v) mm does to where a place is seen: it moves away from below the camera."""
    eye = scene.camera.at

    def source(u, v, view):
        z = height(u, v) / (eye[2] - view.height)
        c, s = math.cos(view.turn), math.sin(view.turn)
        dx, dy = -(view.x - eye[0]) * z, -(view.y - eye[1]) * z
        return u + dx * c + dy * s, v + dy * c - dx * s
    return source


@kind("card-raised", (2, 5, 12), "mm: one card lies on something so thick")
def card_raised(scene, height, rng):
    reshape(scene, pick_card(scene, rng), raised(scene, lambda u, v: np.full_like(u, height)))


@kind("card-curled", (2, 5, 12), "mm: two sides of one card stand up so far")
def card_curled(scene, height, rng):
    half = scene.card_half()
    reshape(scene, pick_card(scene, rng), raised(scene, lambda u, v: height * np.clip(np.abs(u) / half, 0, 1) ** 2))


@kind("cards-curled", (1, 3, 8), "mm: two sides of every card stand up so far")
def cards_curled(scene, height, rng):
    half = scene.card_half()
    for card in scene.cards():
        reshape(scene, card, raised(scene, lambda u, v: height * np.clip(np.abs(u) / half, 0, 1) ** 2))


@kind("card-creased", (2, 5, 12), "mm: a fold across the middle of one card stands up so far, one half darker")
def card_creased(scene, height, rng):
    half, card = scene.card_half(), pick_card(scene, rng)
    reshape(scene, card, raised(scene, lambda u, v: height * (1 - np.clip(np.abs(u) / half, 0, 1))))
    view = CardView(scene, card, half)
    outline = view.pixels(np.array([0, half, half, 0.0]), np.array([-half, -half, half, half]))
    scene.dim([outline], 1 - 0.02 * height)


@kind("card-warped", (0.2, 0.6, 2.0), "mm: one card's places pulled out of line by damp, in waves of 60 mm")
def card_warped(scene, reach, rng):
    phase = rng.uniform(0, 6, 4)
    reshape(scene, pick_card(scene, rng), lambda u, v, view: (
        u + reach * np.sin(v / 9.5 + phase[0]) * np.cos(u / 14 + phase[1]), v + reach * np.sin(u / 9.5 + phase[2]) * np.cos(v / 14 + phase[3])))


@kind("card-blurred", (1.2, 2.5, 5.0), "px: one card out of focus")
def card_blurred(scene, sigma, rng):
    card = pick_card(scene, rng)
    alter_process.smear(scene, scene.px(card[:2])[0], scene.card_half() * 1.1 * scene.px_per_mm, sigma)


# ---- something on a card --------------------------------------------------------------------------------------------

@kind("card-covered", (0.06, 0.25, 0.6), "of a card's side: how far a thumb reaches in over it")
def card_covered(scene, reach, rng):
    card, side = pick_card(scene, rng), scene.truth["reference"]["side"]
    turn = rng.uniform(0, 2 * np.pi)
    way = np.array([math.cos(turn), math.sin(turn)])
    edge = card[:2] - way * side / 2
    tip = edge + way * reach * side
    scene.lay([scene.px(alter_cover.capsule(tip - way * 140, tip - way * 10, 10))], scene.lit(alter_cover.SKIN), rng, soft_px=1.0,
              shadow=alter_cover.shadow_of(scene, 10), shade=0.5, noise=2.0)


@kind("cards-covered", (0.1, 0.3, 0.5), "of a card's side: how far a white slip covers a corner of every card")
def cards_covered(scene, reach, rng):
    side = scene.truth["reference"]["side"]
    for card in scene.cards():
        view = CardView(scene, card, side)
        a, b = side / 2 * 1.15, side / 2 - reach * side
        outline = view.pixels(np.array([a, a, b]), np.array([a, b, a]) * rng.choice([-1, 1]))
        scene.lay([outline], scene.lit(alter_cover.WHITE), rng)


@kind("card-glare", (0.15, 0.35, 0.7), "of a card's side: radius of a white spot on one card")
def card_glare(scene, radius, rng):
    card, side = pick_card(scene, rng), scene.truth["reference"]["side"]
    middle = scene.px(card[:2] + rng.uniform(-0.5, 0.5, 2) * side)[0]
    alter_cover.add_glow(scene, middle, radius * side * scene.px_per_mm, rng.uniform(0.7, 1))


@kind("card-shadow", (0.7, 0.45, 0.25), "brightness of a shadow whose edge runs over one card along its side")
def card_shadow(scene, share, rng):
    card, half = pick_card(scene, rng), scene.card_half()
    view, edge = CardView(scene, card, half), scene.truth["reference"]["side"] / 2 + rng.uniform(-1.5, 1.5)
    outline = view.pixels(np.array([edge, half * 1.3, half * 1.3, edge]), np.array([-1, -1, 1, 1]) * half * 1.3)
    scene.dim([outline], share, 0.3 * scene.px_per_mm)


@kind("cards-fewer", (2, 1, 0), "cards that are left")
def cards_fewer(scene, left, rng):
    cards = scene.cards()
    order = rng.permutation(len(cards))
    for k in order[min(left, len(cards)):]:
        view = CardView(scene, cards[k], scene.card_half() + 3)
        h = scene.card_half() + 1.2
        tile = min(scene.truth["tiles"], key=lambda n: math.dist(scene.tile_middle(n), cards[k][:2]))
        light = scene.top_light(tile)
        scene.lay([view.pixels(np.array([-h, h, h, -h]), np.array([-h, -h, h, h]))], light, rng, hides=False, noise=1.8)


# ---- one more card --------------------------------------------------------------------------------------------------

def copy_card(scene, source, to, scale, height_mm=None, hides=False):
    """Draws a card once more, elsewhere and of another size."""
    view = CardView(scene, to, scene.card_half() * scale + 3, height_mm)
    if view.box is None:
        return
    old = CardView(scene, source, scene.card_half())
    clean = TO_LINEAR[scene.clean]
    total, shots = 0, 3  # samples a pixel each way
    step = 1 / scene.px_per_mm
    for i in range(shots):
        for j in range(shots):
            u, v = view.u + ((i + 0.5) / shots - 0.5) * step, view.v + ((j + 0.5) / shots - 0.5) * step
            total = total + warp.sample(clean, old.pixels(u / scale, v / scale)) / shots ** 2
    half = scene.card_half() * scale
    cover = np.clip((half - np.abs(view.u)) / step + 0.5, 0, 1) * np.clip((half - np.abs(view.v)) / step + 0.5, 0, 1)
    if scale < 1:
        soft = max(0.2, 0.7 * math.sqrt(1 - scale ** 2))
        total = np.dstack([alter_process.gaussian(total[..., k], soft) for k in range(3)])
    view.put(total, alter_process.gaussian(cover, 0.6))
    if hides:
        scene.hide(view.box, cover)


def free_place(scene, half, rng):
    """(x, y, turn, height) for a card: on a tile, or else on the table-top beside the tiles."""
    names, tile = list(scene.truth["tiles"]), scene.truth["tile"]
    for _ in range(400):
        name = names[rng.integers(len(names))]
        room = tile / 2 - half * 1.25 - 4
        if room > 0:
            p = scene.tile_middle(name) + rng.uniform(-room, room, 2)
            if scene.far_from_cards(p, half * 1.2):
                return (*p, rng.uniform(-10, 10)), None
    return beside(scene, half, rng), 0.0


def beside(scene, half, rng):
    """A place on the table-top, wholly in the picture."""
    w, h = scene.size()
    columns, rows, tile = scene.truth["cols"], scene.truth["rows"], scene.truth["tile"]
    middle = np.array([(columns - 1) * tile / 2, -(rows - 1) * tile / 2])
    turns = rng.permutation(360)
    for reach in np.arange(0, 1.2, 0.05):
        for turn in turns[:90]:
            a = math.radians(turn)
            p = middle + np.array([math.cos(a), math.sin(a)]) * tile * (max(columns, rows) / 2 + reach)
            out = np.maximum(np.abs(p - middle) - np.array([columns, rows]) * tile / 2, 0)
            px = scene.camera.project([*p, 0.0])[0]
            m = half * 1.5 * scene.px_per_mm
            if out.max() > half * 1.5 and m < px[0] < w - m and m < px[1] < h - m:
                return (*p, rng.uniform(-10, 10))
    return (*(middle + (0, tile * (rows / 2 + 0.3))), 0.0)


@kind("card-fifth", (0.9, 0.75, 0.6), "times the size of one more card")
def card_fifth(scene, scale, rng):
    to, height = free_place(scene, scene.card_half() * scale, rng)
    copy_card(scene, pick_card(scene, rng), to, scale, height)


@kind("card-fifth-close", (1.01, 0.97, 1.04), "times the size of one more card, nearly as large as the others")
def card_fifth_close(scene, scale, rng):
    to, height = free_place(scene, scene.card_half() * scale, rng)
    copy_card(scene, pick_card(scene, rng), to, scale, height)


@kind("card-on-table-top", (1, 2, 3), "more cards of the right size, on the table-top beside the tiles, 45 mm lower")
def card_on_table_top(scene, count, rng):
    for _ in range(count):
        copy_card(scene, pick_card(scene, rng), beside(scene, scene.card_half(), rng), 1.0, 0.0)


@kind("card-on-seam", (1, 2, 3), "more cards of the right size, lying over seams")
def card_on_seam(scene, count, rng):
    for _ in range(count):
        name, at = scene.pick_seam(rng, 50)
        p = scene.seam_line(name, at)[0] + rng.uniform(-25, 25, 2)
        copy_card(scene, pick_card(scene, rng), (*p, rng.uniform(-30, 30)), 1.0, None, True)


@kind("decoy-squares", (1, 4, 9), "black squares of other sizes painted on the tops")
def decoy_squares(scene, count, rng):
    for _ in range(count):
        half = rng.uniform(10, 35)
        to, height = free_place(scene, half, rng)
        view = CardView(scene, to, half, height)
        if view.box is not None:
            outline = view.pixels(np.array([-1, 1, 1, -1]) * half, np.array([-1, -1, 1, 1]) * half)
            scene.lay([outline], scene.lit((0.05, 0.05, 0.055)), rng, hides=False)


@kind("decoy-frames", (1, 2, 4), "black frames of another ratio, on white, on the tops")
def decoy_frames(scene, count, rng):
    for _ in range(count):
        half, inner = rng.uniform(20, 45), rng.uniform(0.7, 0.85)
        to, height = free_place(scene, half * 1.25, rng)
        view = CardView(scene, to, half * 1.25, height)
        if view.box is None:
            continue
        for reach, albedo in ((1.25, 0.8), (1.0, 0.04), (inner, 0.8)):
            outline = view.pixels(np.array([-1, 1, 1, -1]) * half * reach, np.array([-1, -1, 1, 1]) * half * reach)
            scene.lay([outline], scene.lit((albedo,) * 3), rng, hides=False)


# ---- what the program is told ---------------------------------------------------------------------------------------

def has_inner(scene):
    return scene.truth["reference"]["kind"] == WITH_INNER


@kind("reference-ratio", (0.95, 0.85, 0.6), "times the inner side that is told for the frames", fits=has_inner)
def reference_ratio(scene, scale, rng):
    r = scene.truth["reference"]
    scene.options["--reference"] = "%g/%.4g" % (r["side"], r["inner"] * scale)


@kind("reference-kind", (0.6, 0.5, 0.8), "a plain square is told as a frame of this ratio, a frame as a plain square")
def reference_kind(scene, ratio, rng):
    r = scene.truth["reference"]
    scene.options["--reference"] = "%g" % (r["side"] * (1 if ratio != 0.5 else 0.6)) if has_inner(scene) else "%g/%g" % (r["side"], r["side"] * ratio)


@kind("reference-size", (0.97, 0.8, 0.6), "times the true size of all cards is told; no photo can contradict it but by the tiles' side",
      free=("length", "held", "verdict", "size"))
def reference_size(scene, scale, rng):
    r = scene.truth["reference"]
    scene.options["--reference"] = "/".join("%.5g" % (r[k] * scale) for k in ("side", "inner") if r.get(k))


@kind("reference-size-tile-told", (0.97, 0.8, 0.6), "the same, but the tiles' true side is told, too")
def reference_size_tile_told(scene, scale, rng):
    reference_size(scene, scale, rng)
    scene.options["--tile"] = "%g" % scene.truth["tile"]

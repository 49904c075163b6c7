"""Makes one altered photo: see the script `make`.  Beside OUT.jpg comes OUT.hidden.png, white where the tops are covered."""
import os
import sys

sys.dont_write_bytecode = True
from PIL import Image  # noqa: E402

import adverse  # noqa: E402
import kinds  # noqa: E402
import shots  # noqa: E402


def main(words):
    program, build = "build/seamwright", None
    if "--build" in words:
        k = words.index("--build")
        build, words = words[k + 1], words[:k] + words[k + 2:]
    if len(words) != 4 or words[0] not in kinds.KINDS:
        raise SystemExit("usage: make KIND STRENGTH TABLE OUT.jpg [--build BUILD]; run BUILD --list says the kinds")
    program = build if build and os.path.isfile(build) else os.path.join(build or "build", "seamwright")
    name, strength, table, out = words
    strength = kinds.STRENGTHS.index(strength) if strength in kinds.STRENGTHS else int(strength)
    shot = shots.choose(program, os.path.join(os.path.dirname(os.path.abspath(program)), "adverse"), table, None, False)[0]
    scene = adverse.altered(shot, name, strength, os.path.dirname(os.path.abspath(out)))
    adverse.write(scene, out)
    if scene.hidden is not None:
        Image.fromarray(scene.hidden).save(os.path.splitext(out)[0] + ".hidden.png")
    print(" ".join(adverse.command(program, out, scene, os.path.splitext(out)[0] + ".seams")))


if __name__ == "__main__":
    main(sys.argv[1:])

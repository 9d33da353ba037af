"""`python3 workbook site [LESSON ...] [--to DIR]`: the lessons as plain web pages that open from a memory stick."""

from coachwork import bootstrap
from coachwork.commands._editions import Making, count, size

PLACE = "coachwork-site"  # the folder that is made
OURS = r"index\.html|still\.(js|css)|[0-9]{2}-[a-z-]+\.html|pictures/[0-9-]+\.png"  # what it may hold
MOST = 25e6  # bytes that the whole may take


def main(argv):
    making = Making(argv, "site", "Make the lessons as plain web pages.", "all", PLACE, OURS)
    from coachwork.page import still

    told = []
    for name, one in making.lessons(grid=True):
        told.append(one)
        benches = [block["bench"] for block in one["blocks"] if "bench" in block]
        pictures = [picture for bench in benches for *_, picture in bench["stills"]]
        print(f"{name}: {count(len(benches), 'bench')}, {count(len(pictures), 'picture')}, {size(pictures)}", flush=True)
    content = still.site(told, making.system, making.seed)
    total = sum(map(len, content.values()))
    if total > MOST:
        raise bootstrap.Trouble(f"The pages would take {total / 1e6:.0f} MB, more than {MOST / 1e6:.0f} MB: make fewer lessons at a time.")
    return making.put(content, "still edition", " Open index.html.")

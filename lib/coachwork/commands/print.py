"""`python3 workbook print [LESSON ...] [--to DIR]`: the lessons as PDFs for paper, their answers in PDFs of their own."""

from coachwork.commands._editions import Making, size

PLACE = "coachwork-print"  # the folder that is made
OURS = r"[0-9]{2}-[a-z-]+\.pdf|course(-answers)?\.pdf"  # what it may hold
COVER = (
    "This is the printed edition. The lessons stand here as the demonstration coach leaves them; in the workbook itself "
    "sliders move, and your own coach takes its place.",
    "A bench is a picture with sliders. Here it stands still: its settings and its result stand below it in words. Decide what "
    "it predicts before you read on.",
    "The questions have room for your answers. Their numbers are drawn from a learner's number, which stands at the foot of "
    "each page; another number gives other questions. The answers are in a file of their own.",
    "Lines of Python that only show a table, a picture or a question are left out.",
    "Local codes and licensed practice decide; where they differ from this workbook, they are right.",
)


def main(argv):
    making = Making(argv, "print", "Make the lessons as PDFs.", "all, and the course in one", PLACE, OURS, stay=True)
    from coachwork.page import printed

    about = f"{making.system} units, learner's number {making.seed}"
    told, content = [], {}
    for name, one in making.lessons():
        told.append(one)
        made = {f"{name}.pdf": printed.pdf(f"{one['number']} {one['title']}", [one], about),
                f"{name}-answers.pdf": printed.pdf(f"Answers: {one['title']}", [printed.answers(one)], about)}  # fmt: skip
        print(f"{name}: {size(made.values())}", flush=True)
        content |= made
    if making.every:
        print("All lessons in one file, and their answers in one", flush=True)
        content["course.pdf"] = printed.pdf(printed.NAME, told, about, COVER)
        content["course-answers.pdf"] = printed.pdf(f"Answers: {printed.NAME}", list(map(printed.answers, told)), about, COVER[2:3])
    return making.put(content, "printed edition")

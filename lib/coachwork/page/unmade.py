"""A cell run before those it builds on: one sentence in place of Python's traceback.

Whoever opens a lesson again and begins in the middle meets this first. `open` names this module to the kernel as an
extension, for before the set-up cell has run nothing of ours is there to answer.
"""


def load_ipython_extension(shell):
    """Called by IPython when the kernel starts."""
    shell.set_custom_exc((NameError,), tell)


def tell(shell, kind, error, trace, tb_offset=None):
    """Show an error of a cell; where the cell itself asked for a name that nothing made, in one sentence."""
    while trace.tb_next:
        trace = trace.tb_next
    if kind is NameError and trace.tb_frame.f_globals is shell.user_ns:  # else it is ours to mend, and the traceback helps
        said = (f"`{error.name}` is not there yet: in the menu Run choose Run All Above Selected Cell, then run this cell again; "
                "if you wrote the name yourself, look at how it is spelt.")  # fmt: skip
        error._render_traceback_ = lambda: [said]  # IPython asks an error for its own words by this name
    shell.showtraceback((kind, error, error.__traceback__), tb_offset=tb_offset)

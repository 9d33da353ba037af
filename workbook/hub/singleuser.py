"""Start one learner's server, as that learner: lay the lessons as `python3 workbook` does, open JupyterLab.

The hub runs this with the learner's own rights, so whatever lies in the learner's folder (a link to somebody
else's file, say) can reach no further than the learner.
"""
import os
import pwd
import sys

from coachwork import bootstrap
from coachwork.commands import open as opening

HUBBED = opening.JUPYTERLAB.replace("jupyterlab.labapp", "jupyterhub.singleuser")
OPTIONS = [
    # kernels talk over sockets in the learner's own folder: on a port, everybody here could listen to answers
    "--KernelManager.transport=ipc",
    "--MappingKernelManager.cull_idle_timeout=1800",    # a kernel holds most of the memory; running its cells
    "--MappingKernelManager.cull_connected=True",       # again brings it back
    "--ServerApp.terminals_enabled=False",
    "--LabApp.extension_manager=readonly",
    "--ServerApp.jpserver_extensions={}".format(    # what no lesson uses, about 5 MB
        {"jupyter_lsp": False, "jupyter_server_terminals": False, "notebook_shim": False}),
]


def main(argv):
    os.umask(0o077)
    home = bootstrap.home()
    home.mkdir(exist_ok=True)
    home.chmod(0o700)
    word = os.environ.pop("COACHWORK_COURSE", "")
    if word and not (home / "seed.txt").exists():       # the number that the roster has for this learner
        from coachwork.page.questions import course_seed
        opening.write(home / "seed.txt", b"%d\n" % course_seed(word, pwd.getpwuid(os.getuid()).pw_name))
    for name in opening.lay_out(home):
        print("A lesson was changed by the learner; its new edition was put beside it:", name)
    opening.lay_seed(home)
    command, env = opening.server(home, *OPTIONS, *argv)
    command[command.index(opening.JUPYTERLAB)] = HUBBED
    command.remove("--ip=127.0.0.1")        # the hub says where: loopback here, the pod's address on Kubernetes
    os.execve(command[0], command, env)


if __name__ == "__main__":
    main(sys.argv[1:])

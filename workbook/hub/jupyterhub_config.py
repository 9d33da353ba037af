"""The class server: one real system user a learner, on this machine only until you put TLS before it.

Made for the folder that install.sh lays; README.md beside it has the steps and the cautions. What you may
want to change comes first, each by an environment variable.
"""
import os
import resource
import sys
from pathlib import Path

from jupyterhub.spawner import LocalProcessSpawner

PORT = int(os.environ.get("COACHWORK_PORT", "8000"))    # on loopback; a web server with TLS stands before it
MEMORY = os.environ.get("COACHWORK_MEMORY", "1.5G")       # a learner's limit
IDLE = int(os.environ.get("COACHWORK_IDLE", "3600"))    # seconds until a server nobody uses is ended
GROUP = os.environ.get("COACHWORK_GROUP", "learners")   # system group whose members may log in
COURSE = os.environ.get("COACHWORK_COURSE", "")         # the word of `python3 workbook roster`: own numbers

ROOM = Path(__file__).resolve().parents[3]      # what install.sh laid: course, venv, proxy, private
PRIVATE = ROOM / "private"
c = get_config()  # noqa: F821  (given by JupyterHub)

# ---- where things are: on loopback, and secrets where only root reads
os.umask(0o077)
c.JupyterHub.bind_url = f"http://127.0.0.1:{PORT}"
c.JupyterHub.hub_bind_url = f"http://127.0.0.1:{PORT + 81}"
c.JupyterHub.db_url = f"sqlite:///{PRIVATE / 'jupyterhub.sqlite'}"
c.JupyterHub.cookie_secret_file = str(PRIVATE / "cookie_secret")
c.ConfigurableHTTPProxy.api_url = f"http://127.0.0.1:{PORT + 1}"
c.ConfigurableHTTPProxy.pid_file = str(PRIVATE / "proxy.pid")
c.ConfigurableHTTPProxy.command = [str(ROOM / "proxy/node_modules/.bin/configurable-http-proxy")]

# ---- who may log in: system users with their system password, of one group. Nobody is the hub's
# administrator: whoever may stop and watch other people's servers already is root here.
c.JupyterHub.authenticator_class = "pam"
c.PAMAuthenticator.allowed_groups = {GROUP}
c.JupyterHub.admin_access = False


# ---- a learner's server: run as the learner, lessons laid in the learner's folder by the learner's own rights
class Limited(LocalProcessSpawner):
    """System users without systemd: the kernel's limits, which hold for each process, not for their sum."""

    def make_preexec_fn(self, name):
        become, memory = super().make_preexec_fn(name), int(self.mem_limit)

        def preexec():
            resource.setrlimit(resource.RLIMIT_DATA, (memory, memory))
            resource.setrlimit(resource.RLIMIT_NPROC, (400, 400))       # threads count, a kernel has about 12
            os.umask(0o077)
            become()

        return preexec


SYSTEMD = Path("/run/systemd/system").is_dir()
c.JupyterHub.spawner_class = "systemd" if SYSTEMD else Limited
c.SystemdSpawner.username_template = "{USERNAME}"
c.SystemdSpawner.isolate_tmp = True
c.SystemdSpawner.disable_user_sudo = True
c.SystemdSpawner.unit_extra_properties = {"UMask": "0077", "TasksMax": "400"}
c.Spawner.ip = "127.0.0.1"
c.Spawner.mem_limit = MEMORY
c.Spawner.cmd = [sys.executable, str(Path(__file__).with_name("singleuser.py"))]
c.Spawner.disable_user_config = True
c.Spawner.env_keep = ["PATH", "LANG", "LC_ALL"]
# One thread for linear algebra: the lessons' matrices are small, and threads cost memory in every kernel.
c.Spawner.environment = {name: "1" for name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS")}
c.Spawner.environment["COACHWORK_COURSE"] = COURSE
c.Spawner.start_timeout = 120           # a class starts all at once

# ---- what nobody uses is ended; saved work stays
c.JupyterHub.services = [{
    "name": "idle-culler",
    "command": [sys.executable, "-m", "jupyterhub_idle_culler", f"--timeout={IDLE}", "--cull-every=300"]}]
c.JupyterHub.load_roles = [{
    "name": "idle-culler", "services": ["idle-culler"],
    "scopes": ["list:users", "read:users:activity", "read:servers", "delete:servers"]}]

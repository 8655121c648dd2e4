"""An example: the pages of riskkit for the people of a company, behind JupyterHub.

Every person logs in with the account that they have on this machine and gets a server and a folder
of their own. Start it in a folder that belongs to the administrator alone::

    jupyterhub --config jupyterhub_config.py
"""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import Any

from riskkit.folders import FOLDER_VARIABLE, notebooks_folder, page_templates
from riskkit.widgets.access import content_policy

c = get_config()  # type: ignore[name-defined]  # noqa: F821 - JupyterHub gives it to this file

# Who may log in, and from where. Only this machine, until there is a certificate:
c.JupyterHub.bind_url = "http://127.0.0.1:8000"
# c.JupyterHub.bind_url = "https://:443"
# c.JupyterHub.ssl_key = "/etc/riskkit/key.pem"
# c.JupyterHub.ssl_cert = "/etc/riskkit/certificate.pem"
c.Authenticator.allowed_users = set()  # the names of the accounts, such as {"technician1"}

# In front of the servers: a proxy in Python, of the extra riskkit[hub].
c.ConfigurableHTTPProxy.command = [
    str(Path(sys.executable).with_name("configurable-http-proxy")),
    "--proxy-timeout=180000",  # a server that starts is waited for [ms]
]


def folder_of(spawner: Any) -> str:
    """Where the home files of a person lie: the home directory of their account."""
    return str(Path(f"~{spawner.user.name}").expanduser())


# No page loads anything from, or sends anything to, another address; no formulas from a server.
pages = {
    "headers": {"Content-Security-Policy": content_policy()},
    "mathjax_url": None,
    "mathjax_config": None,
}

# One server a person: the pages, without terminals and without an editor of notebooks.
c.Spawner.cmd = [sys.executable, "-P", "-m", "jupyterhub.singleuser"]
c.Spawner.default_url = "/voila"
c.Spawner.environment = {
    FOLDER_VARIABLE: folder_of,
    # sockets of kernels: their path must be short
    "JUPYTER_RUNTIME_DIR": lambda spawner: f"{folder_of(spawner)}/.run",
    "JUPYTERHUB_SINGLEUSER_APP": "jupyter_server.serverapp.ServerApp",
    "JUPYTER_PATH": os.pathsep.join(
        part for part in (str(page_templates()), os.environ.get("JUPYTER_PATH")) if part
    ),
}
c.Spawner.args = [
    f"--ServerApp.root_dir={notebooks_folder()}",
    "--ServerApp.jpserver_extensions={'voila.server_extension': True}",
    "--ServerApp.terminals_enabled=False",
    f"--ServerApp.tornado_settings={pages!r}",
    "--ServerApp.kernel_spec_manager_class=riskkit.widgets.server.OwnKernels",
    "--KernelManager.transport=ipc",  # sockets of this person, which nobody else can reach
    "--MappingKernelManager.cull_idle_timeout=300",  # a page that was closed [s]
    "--MappingKernelManager.cull_interval=30",
    "--VoilaConfiguration.template=riskkit",
    "--VoilaConfiguration.classic_tree=True",
    "--VoilaConfiguration.strip_sources=True",
    "--VoilaConfiguration.allow_template_override=NO",
    "--VoilaConfiguration.allow_theme_override=NO",
    "--VoilaConfiguration.file_allowlist=.*\\.(png|svg)",
]

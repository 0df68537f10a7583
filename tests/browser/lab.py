"""A browser, a JupyterLab with everything of its own, and one notebook in a tab."""

from __future__ import annotations

import ast
import json
import os
import secrets
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path
from urllib.parse import urlsplit

import cuebook

ROOT = Path(__file__).parents[2]
NAMES = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "microsoft-edge")
FLAGS = ["--disable-gpu", "--disable-dev-shm-usage", "--no-first-run", "--disable-background-networking",
         "--disable-component-update", "--disable-sync", "--disable-quic", "--mute-audio",
         "--autoplay-policy=no-user-gesture-required", "--force-color-profile=srgb"]  # fmt: skip
LAB_SETTINGS = {
    "@jupyterlab/apputils-extension/notification": {"fetchNews": "false", "checkForUpdates": False},
    "@jupyterlab/notebook-extension/tracker": {"windowingMode": "none"},
    "@jupyterlab/docmanager-extension/plugin": {"autosave": False},
}


def browser_path() -> str | None:
    """The browser named by CHROMIUM, or one that is found."""
    return os.environ.get("CHROMIUM") or next(filter(None, map(shutil.which, NAMES)), None)


def launch(driver, path: str):
    """Start the browser; the sandbox cannot be had as root."""
    as_root = hasattr(os, "geteuid") and os.geteuid() == 0
    return driver.chromium.launch(
        executable_path=path, headless=True, args=[*FLAGS, *(["--no-sandbox"] if as_root else [])]
    )


class Lab:
    """A JupyterLab with a folder, settings and a token of its own; nothing of the developer's leaks in."""

    def __init__(self, folder: Path) -> None:
        self.root, home = folder / "work", folder / "home"
        self.root.mkdir()
        for name, value in LAB_SETTINGS.items():
            file = home / "settings" / f"{name}.jupyterlab-settings"
            file.parent.mkdir(parents=True, exist_ok=True)
            file.write_text(json.dumps(value), encoding="utf-8")
        self.token, self._log = secrets.token_hex(16), home / "lab.log"
        paths = [str(ROOT), str(Path(cuebook.__file__).parents[1]), os.environ.get("PYTHONPATH")]
        env = dict(
            os.environ, JUPYTER_CONFIG_DIR=f"{home}/config", JUPYTER_DATA_DIR=f"{home}/data",
            JUPYTER_RUNTIME_DIR=f"{home}/runtime", JUPYTERLAB_SETTINGS_DIR=f"{home}/settings",
            JUPYTERLAB_WORKSPACES_DIR=f"{home}/workspaces", IPYTHONDIR=f"{home}/ipython",
            PYTHONPATH=os.pathsep.join(filter(None, paths)),
        )  # fmt: skip
        with self._log.open("wb") as log:
            self._server = subprocess.Popen(
                [sys.executable, "-m", "jupyterlab", "--no-browser", "--allow-root", "--expose-app-in-browser",
                 "--ServerApp.ip=127.0.0.1", "--ServerApp.port=0", f"--IdentityProvider.token={self.token}",
                 f"--ServerApp.root_dir={self.root}",
                 "--LabApp.check_for_updates_class=jupyterlab.NeverCheckForUpdate"],
                env=env, stdout=log, stderr=subprocess.STDOUT, start_new_session=True,
            )  # fmt: skip
        self.url = f"http://127.0.0.1:{self._port(home)}"

    def _port(self, home: Path) -> int:
        info, end = home / "runtime" / f"jpserver-{self._server.pid}.json", time.monotonic() + 120
        while not (info.exists() and info.read_text()):
            if self._server.poll() is not None or time.monotonic() > end:
                raise RuntimeError("JupyterLab did not start:\n" + self._log.read_text()[-4000:])
            time.sleep(0.05)
        return json.loads(info.read_text())["port"]

    def close(self) -> None:
        """End the server, which ends its kernels first."""
        self._server.terminate()
        try:
            self._server.wait(20)
        except subprocess.TimeoutExpired:
            os.killpg(self._server.pid, signal.SIGKILL)
            self._server.wait(5)

    def notebook(self, name: str, *cells: str) -> str:
        """Write a notebook of code cells and return its name."""
        import nbformat

        made = nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell(c) for c in cells])
        made.metadata.kernelspec = {"name": "python3", "display_name": "Python 3", "language": "python"}
        nbformat.write(made, self.root / name)
        return name


class NotebookPage:
    """One notebook in a browser tab, with what the page complained about and whom it asked."""

    def __init__(self, page, lab: Lab) -> None:
        self.page, self.lab, self.errors, self.outside = page, lab, [], []
        host = urlsplit(lab.url).netloc
        page.on("pageerror", lambda e: self.errors.append(str(e)))
        page.on("console", lambda m: self.errors.append(m.text) if m.type == "error" else None)
        page.on("request", lambda r: self.outside.append(r.url) if _leaves(r.url, host) else None)

    def open(self, name: str) -> NotebookPage:
        """Open a notebook and wait for its kernel."""
        self.page.goto(f"{self.lab.url}/lab/tree/{name}?reset&token={self.lab.token}")
        self.page.wait_for_function(
            """n => { const w = window.jupyterapp && jupyterapp.shell.currentWidget;
                return w && w.context && w.context.path === n && w.sessionContext.session
                    && w.sessionContext.session.kernel; }""",
            arg=name, timeout=90_000,
        )  # fmt: skip
        self.page.evaluate("jupyterapp.shell.currentWidget.sessionContext.ready")
        return self

    def run_all(self) -> NotebookPage:
        """Run every cell and fail with the first error of one."""
        self.page.evaluate("jupyterapp.commands.execute('notebook:run-all-cells')")
        errors = self.page.evaluate(
            """() => jupyterapp.shell.currentWidget.content.model.sharedModel.cells.flatMap((c, i) =>
                (c.outputs || []).filter(o => o.output_type === 'error').map(o => [i, o.ename, o.evalue]))"""
        )
        assert not errors, f"cells failed: {errors}"
        return self

    def restart_kernel(self) -> None:
        """Restart the kernel without asking."""
        self.page.evaluate("jupyterapp.shell.currentWidget.sessionContext.session.kernel.restart()")

    def kill_kernel(self) -> None:
        """End the kernel's process at once, as a power cut would, and wait for the server to start another."""
        kernel = "jupyterapp.shell.currentWidget.sessionContext.session.kernel"
        pid = self.kernel("__import__('os').getpid()")
        os.kill(pid, signal.SIGKILL)
        self.page.wait_for_timeout(200)
        self.page.evaluate(
            """async () => { for (let i = 0; i < 10; i++) {
                try { return await jupyterapp.shell.currentWidget.sessionContext.session.kernel.restart(); }
                catch { await new Promise(done => setTimeout(done, 1000)); } } }"""
        )  # the server notices the death as well and may be restarting it already
        self.page.wait_for_function(f"() => {kernel}.status === 'idle'", timeout=60_000)

    def kernel(self, expression: str):
        """Return the JSON value of a Python expression in the notebook's kernel."""
        reply = self.page.evaluate(
            """async code => { const k = jupyterapp.shell.currentWidget.sessionContext.session.kernel;
                const f = k.requestExecute({code: '', silent: true, store_history: false,
                                            user_expressions: {v: code}});
                return (await f.done).content.user_expressions.v; }""",
            f"__import__('json').dumps({expression})",
        )
        assert reply["status"] == "ok", f"kernel: {reply.get('ename')}: {reply.get('evalue')}"
        return json.loads(ast.literal_eval(reply["data"]["text/plain"]))

    def wait_kernel(self, expression: str, timeout_s: float = 15.0):
        """Wait until an expression is true in the kernel, and return its value."""
        end = time.monotonic() + timeout_s
        while not (value := self.kernel(expression)):
            assert time.monotonic() < end, f"timed out waiting for {expression}"
            self.page.wait_for_timeout(50)
        return value

    def shutdown(self) -> None:
        """End the notebook's kernel."""
        self.page.evaluate(
            """async () => { const w = window.jupyterapp && jupyterapp.shell.currentWidget;
                if (w && w.sessionContext) await w.sessionContext.shutdown(); }"""
        )


def _leaves(url: str, host: str) -> bool:
    parts = urlsplit(url)
    return parts.scheme in ("http", "https", "ws", "wss") and parts.netloc != host

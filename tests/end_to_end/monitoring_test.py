#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""What a running daemon tells at /metrics, held against Prometheus' own checks, the alert rules, and the paper
that says what to do when one fires.

monitoring_test.py CATWALKD RACK_FILE FOLDER_OF_RULES
"""
import pathlib
import re
import subprocess
import sys
import tempfile
import time
import urllib.request

CATWALKD, RACK, RULES = sys.argv[1], sys.argv[2], pathlib.Path(sys.argv[3])
PATIENCE = 30  # seconds


def promtool(*words, text=None):
    done = subprocess.run(["promtool", *words], input=text, text=True, capture_output=True, cwd=RULES)
    assert done.returncode == 0, (words, done.stdout, done.stderr)
    return done.stdout + done.stderr


def started(log):
    """The port of the daemon that writes this log."""
    end = time.monotonic() + PATIENCE
    while time.monotonic() < end:
        found = re.search(r"http://127\.0\.0\.1:(\d+)", log.read_text())
        if found:
            return int(found.group(1))
        time.sleep(0.05)
    raise AssertionError(log.read_text())


def metrics(port, accept):
    request = urllib.request.Request(f"http://127.0.0.1:{port}/metrics", headers={"Accept": accept})
    with urllib.request.urlopen(request, timeout=PATIENCE) as answer:
        return answer.headers["Content-Type"], answer.read().decode()


def told(port, what):
    """The text, as soon as it has that in it."""
    end = time.monotonic() + PATIENCE
    while time.monotonic() < end:
        kind, text = metrics(port, "text/plain")
        assert kind == "text/plain; version=0.0.4; charset=utf-8", kind
        if what in text:
            return text
        time.sleep(0.05)
    raise AssertionError(f"{what} is not told")


def values(text, name):
    return [float(value) for value in re.findall(rf"^{name}(?:{{[^}}]*}})? (\S+)$", text, re.M)]


def look_at_figures(port):
    text = told(port, "catwalk_node_supply_volts{")
    said = promtool("check", "metrics", text=text)
    assert said == "", said
    now = time.time()
    assert now - 3600 < values(text, "process_start_time_seconds")[0] <= now + 1, text
    assert values(text, "process_resident_memory_bytes")[0] > 1e6
    assert values(text, "process_open_fds")[0] >= 5
    assert values(text, "process_cpu_seconds_total")[0] > 0
    assert re.search(r'^catwalk_build_info{version="\d+\.\d+\.\d+",commit="[^"]+"} 1$', text, re.M), text
    kind, open_metrics = metrics(port, "application/openmetrics-text; version=1.0.0")
    assert kind == "application/openmetrics-text; version=1.0.0; charset=utf-8", kind
    assert open_metrics.endswith("\n# EOF\n")
    return text


def look_at_rules(text):
    promtool("check", "rules", "catwalk.rules.yml")
    promtool("test", "rules", "catwalk.rules.test.yml")
    rules = (RULES / "catwalk.rules.yml").read_text()
    alerts = re.findall(r"- alert: (\w+)", rules)
    sections = re.findall(r"^### (\w+)$", (RULES / "README.md").read_text(), re.M)
    assert alerts and alerts == sections, (alerts, sections)
    tests = (RULES / "catwalk.rules.test.yml").read_text()
    for alert in alerts:
        assert f"see {alert} in" in tests, f"{alert} is not tried"
    # A rule about a figure that nobody tells never fires. Only a rack with TLS has a certificate.
    names = set(re.findall(r"\b((?:catwalk|process)_\w+)", " ".join(re.findall(r"expr: '(.*)'", rules))))
    names.remove("catwalk_certificate_end_timestamp_seconds")
    assert len(names) > 10, names
    for name in names:
        assert values(text, name), f"{name} is not told"


with tempfile.TemporaryDirectory() as folder:
    log = pathlib.Path(folder) / "log"
    with log.open("w") as out:
        daemon = subprocess.Popen([CATWALKD, "--port", "0", "--state-dir", f"{folder}/state", RACK], stderr=out)
    try:
        look_at_rules(look_at_figures(started(log)))
    finally:
        daemon.terminate()
        assert daemon.wait(PATIENCE) == 0

"""No file names a package registry's host or a folder of somebody's machine: both are the reader's own business."""

from __future__ import annotations

import hashlib
import re

import pytest

from tests.project import checkout_files as project

# The first 16 digits of the SHA-256 of each host name, so that the names stand nowhere, not even here.
REGISTRY_HOSTS = frozenset(
    {
        "a4aa2ac280bb8d1a",
        "8b5bb5eb9d758455",
        "d6d7019ca9fcbf07",
        "8743857e3ea00fd1",
        "3ca29e55be4befa4",
        "87d14f070cb96869",
        "9c6b05022d03bb05",
        "e2dd3580aeebec64",
        "901e094d4cd2ee70",
        "067a3ff791863417",
        "75adac515f0bd3db",
        "344aa72d23ae6fdb",
        "789e46d79514e280",
        "71741fe2460a6150",
        "be1bed06b74e0496",
        "51c6b9f69c48a75b",
        "03eabd6c5c4ff24d",
        "3530c4415dd857fb",
        "26b9cccfe247fdba",
        "0fd460f0568e29c1",
        "271dacc9f4d0caf8",
        "c3db8466ffcd8589",
        "00a7dc5a0cc38858",
        "ae0e9bceb9fb1084",
        "f6f372f868cf5e20",
        "394bc662b64ea8fc",
    }
)
HOST = re.compile(r"(?:[a-z0-9-]+\.)+[a-z]{2,}")
# A folder that only exists on one machine: a home, a mounted volume, a build server's work folder.
MACHINE_PATH = re.compile(r"(?<![\w.<{/-])/(?:home|root|Users|work|workspace|mnt|media|builds?)/[\w.-]+")


def registry_hosts_in(text: str) -> list[str]:
    """Host names in a text that are a registry's, each tried with and without its subdomains."""
    found = []
    for host in HOST.findall(text.casefold()):
        labels = host.split(".")
        tails = (".".join(labels[start:]) for start in range(len(labels) - 1))
        if any(hashlib.sha256(tail.encode()).hexdigest()[:16] in REGISTRY_HOSTS for tail in tails):
            found.append(host)
    return found


def machine_paths_in(text: str) -> list[str]:
    """Absolute paths in a text that only exist on somebody's machine."""
    return MACHINE_PATH.findall(text)


def test_no_file_names_a_registry() -> None:
    found = {str(path): registry_hosts_in(text) for path, text in project.texts()}
    assert {path: hosts for path, hosts in found.items() if hosts} == {}


def test_no_file_names_a_folder_of_a_machine() -> None:
    found = {str(path): machine_paths_in(text) for path, text in project.texts() if path.suffix != ".js"}
    assert {path: paths for path, paths in found.items() if paths} == {}


def test_the_search_for_registries_sees_one() -> None:
    host = ".".join(["files", "python" + "hosted", "org"])
    assert registry_hosts_in(f"see https://{host}/packages/x.whl") == [host]
    assert registry_hosts_in("see https://www.iana.org/time-zones") == []


@pytest.mark.parametrize("text", ["/" + "home/someone/x", "url=/" + "work/main", "'/" + "root/.cache'"])
def test_the_search_for_machine_paths_sees_one(text: str) -> None:
    assert len(machine_paths_in(text)) == 1
    assert machine_paths_in("/people/1/work/x and docs/work/y and href=/home") == []

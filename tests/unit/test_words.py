"""Words that do not belong in the project: paths of a machine, hosts of registries."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
HOMES = "|".join(("work", "root", "home"))
REGISTRIES = "|".join(("pyp" + "i", "npm" + "js", "deb" + "ian"))
STRANGERS = re.compile(
    rf"(?:^|[^A-Za-z0-9.>])/(?:{HOMES})/|//[a-z.-]*(?:{REGISTRIES})[a-z.]*/", re.MULTILINE
)
TOP = {
    *("README.md", "DEVELOPERS.md", "pyproject.toml", "Dockerfile"),
    *("service", "rules", "openapi", "tests"),
}


def tracked() -> list[Path]:
    """Return the files that git knows, or would take in."""
    command = ["git", "ls-files", "--cached", "--others", "--exclude-standard"]
    listed = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True).stdout
    return [ROOT / line for line in listed.splitlines() if (ROOT / line).is_file()]


def test_no_file_names_a_path_of_a_machine_or_a_registry():
    found = []
    for path in tracked():
        if path.suffix in {".png", ".pdf"}:
            continue
        for match in STRANGERS.finditer(path.read_text(encoding="utf-8")):
            found.append(f"{path.relative_to(ROOT)}: {match[0]!r}")
    assert found == []


def test_the_words_are_found_where_they_stand():
    assert STRANGERS.search(f"see /{HOMES.split('|')[0]}/main")
    assert STRANGERS.search(f"https://files.{REGISTRIES.split('|')[0]}.org/simple")


def test_the_top_level_holds_just_what_it_should():
    names = {path.relative_to(ROOT).parts[0] for path in tracked()}
    assert {name for name in names if not name.startswith(".")} == TOP

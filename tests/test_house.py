"""The house: what is in the tree, what the locks pin, that docs lead somewhere."""

import re
import subprocess
import tomllib
import zipfile
from collections import Counter
from pathlib import Path

import grimp
import pytest
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import connected_components

ROOT = Path(__file__).parents[1]

# Put together from pieces, so that this page does not contain what it looks for.
HOSTS = ["py" + "pi.org", "python" + "hosted", "registry." + "npm", "deb." + "debian.org"]
PLACES = ["/" + "work/", "/" + "root/", "/" + "tmp/", "/" + "opt/", "/" + "farm/", "." + "library"]
PAPERS = ["tran" + "script", "seed " + "document"]


def tracked() -> list[Path]:
    """The files that belong to the project, by git where there is one."""
    done = subprocess.run(
        ["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, text=True, check=False
    )
    if done.returncode:
        pytest.skip("not a git checkout: what belongs to the project is not known")
    return [ROOT / name for name in done.stdout.split("\0") if name and (ROOT / name).is_file()]


def texts() -> dict[str, str]:
    out = {}
    for path in tracked():
        try:
            out[path.relative_to(ROOT).as_posix()] = path.read_text(encoding="utf-8")
        except UnicodeDecodeError:
            continue  # not text
    return out


@pytest.mark.parametrize("words", [HOSTS, PLACES, PAPERS], ids=["hosts", "places", "papers"])
def test_nothing_in_the_tree_names_what_it_must_not(words: list[str]) -> None:
    pattern = re.compile("|".join(map(re.escape, words)), re.IGNORECASE)
    found = [
        f"{name}:{number}: {line.strip()[:100]}"
        for name, text in texts().items()
        for number, line in enumerate(text.splitlines(), 1)
        if pattern.search(line)
    ]
    assert found == []


AT_THE_ROOT = {
    *(".gitignore", "CHANGELOG.md", "CONTRIBUTING.md", "LICENSE", "Makefile", "README.md"),
    *("pyproject.toml", "requirements-dev.lock", "requirements.lock"),
}


def test_no_stray_file_lies_at_the_root() -> None:
    """What a call wrote by mistake and somebody committed, a file named "-" for one."""
    assert {path.name for path in tracked() if path.parent == ROOT} <= AT_THE_ROOT


# --- the locks ---------------------------------------------------------------------------------


def locked(name: str) -> dict[str, tuple[set[str], int]]:
    """Package → its pinned versions and the number of hashes, as a lock has them."""
    out: dict[str, tuple[set[str], int]] = {}
    text = (ROOT / name).read_text(encoding="utf-8").replace("\\\n", " ")
    for line in filter(None, map(str.strip, text.splitlines())):
        pin = re.match(r"([a-z0-9-]+)==([^\s;]+)", line)
        assert pin, f"{name}: not a pinned package: {line[:80]}"
        hashes = re.findall(r"--hash=sha256:[0-9a-f]{64}(?=\s|$)", line)
        versions, count = out.get(pin[1], (set(), 10**6))
        out[pin[1]] = (versions | {pin[2]}, min(count, len(hashes)))
    return out


LOCKS = ["requirements.lock", "requirements-dev.lock"]


@pytest.mark.parametrize("name", LOCKS)
def test_every_package_of_a_lock_is_pinned_with_hashes(name: str) -> None:
    packages = locked(name)
    assert packages
    assert [package for package, (_, hashes) in packages.items() if hashes == 0] == []


@pytest.mark.parametrize("name", LOCKS)
def test_a_lock_says_nothing_of_where_packages_come_from(name: str) -> None:
    text = (ROOT / name).read_text(encoding="utf-8")
    assert re.findall(r"https?:|--(?:extra-)?index-url|--find-links|--trusted-host|@ ", text) == []


def test_what_runs_is_what_is_tested() -> None:
    runtime, everything = (locked(name) for name in LOCKS)
    assert {name: everything.get(name) for name in runtime} == runtime


def test_the_locks_hold_all_that_the_project_asks_for() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    runtime, everything = (locked(name) for name in LOCKS)
    groups = project["dependency-groups"]
    needed = [*project["project"]["dependencies"], *groups["build"]]
    assert [one for one in map(package_name, needed) if one not in runtime] == []
    wanted = [one for one in groups["dev"] if isinstance(one, str)]
    assert [one for one in map(package_name, wanted) if one not in everything] == []


def package_name(requirement: str) -> str:
    found = re.match(r"[A-Za-z0-9._-]+", requirement)
    assert found
    return re.sub(r"[-_.]+", "-", found[0]).lower()


# --- docs --------------------------------------------------------------------------------------

LINK = re.compile(r"(?<!!)\[[^\]]*\]\(([^)\s]+)\)")
PAGES = [*ROOT.glob("*.md"), *ROOT.glob("docs/**/*.md")]


def anchors(page: Path) -> set[str]:
    """The anchors of a page's headings, spelled as Markdown viewers commonly do."""
    heads = re.findall(r"^#+ +(.+?) *$", page.read_text(encoding="utf-8"), re.MULTILINE)
    plain = (re.sub(r"[^\w\- ]", "", head.replace("`", "")).lower() for head in heads)
    return {head.replace(" ", "-") for head in plain}


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.relative_to(ROOT).as_posix())
def test_every_link_between_pages_leads_somewhere(page: Path) -> None:
    broken = []
    for link in LINK.findall(page.read_text(encoding="utf-8")):
        if link.startswith(("http:", "https:", "mailto:")):
            continue
        name, _, anchor = link.partition("#")
        target = (page.parent / name).resolve() if name else page
        missing = not target.exists() or (anchor and anchor not in anchors(target))
        if missing:
            broken.append(link)
    assert broken == []


def test_every_page_of_the_docs_is_reached_from_the_index() -> None:
    seen, todo = set(), [ROOT / "docs" / "index.md"]
    while todo:
        page = todo.pop()
        if page in seen:
            continue
        seen.add(page)
        links = (link.partition("#")[0] for link in LINK.findall(page.read_text(encoding="utf-8")))
        targets = ((page.parent / link).resolve() for link in links if link.endswith(".md"))
        todo += [target for target in targets if target.is_file()]
    pages = set((ROOT / "docs").glob("**/*.md"))
    assert sorted(page.name for page in pages - seen) == []


def test_the_readme_shows_what_the_demo_really_gives() -> None:
    from benchmarks.paste import pasted, reach, statement

    page = (ROOT / "README.md").read_text(encoding="utf-8")
    now = pasted(page, statement(), reach())
    number = re.compile(r"\d+(?:\.\d+)?")
    assert number.sub("#", now) == number.sub("#", page), "make docs pastes it anew"
    # Another processor may round the last digit otherwise.
    shown, given = (list(map(float, number.findall(text))) for text in (page, now))
    assert shown == pytest.approx(given, rel=0.03, abs=0.11)


def test_every_make_target_that_the_pages_name_exists() -> None:
    targets = set(re.findall(r"^([a-z-]+):", (ROOT / "Makefile").read_text(), re.MULTILINE))
    for page in PAGES:
        named = set(re.findall(r"`make ([a-z-]+)[`\s]", page.read_text(encoding="utf-8")))
        assert named <= targets, page.name


# --- the package -------------------------------------------------------------------------------


def test_a_built_package_carries_every_file_of_the_source(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from hatchling.build import build_wheel

    monkeypatch.chdir(ROOT)
    with zipfile.ZipFile(tmp_path / build_wheel(str(tmp_path))) as wheel:
        inside = set(wheel.namelist())
    source = [path for path in tracked() if path.is_relative_to(ROOT / "src")]
    files = {path.relative_to(ROOT / "src").as_posix() for path in source}
    assert files - inside == set()


def test_the_licence_is_the_one_that_the_project_states() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    assert project["license"] == "MIT"
    assert (ROOT / "LICENSE").read_text(encoding="utf-8").startswith("MIT License")


def test_no_two_modules_hold_each_other() -> None:
    """But for the two pairs that are one recursion: a condition holds readings, a `since` reading
    a condition. Imports inside functions count."""
    graph = grimp.build_graph("tuneledger")
    modules = sorted(graph.modules)
    imports = [[o in graph.find_modules_directly_imported_by(m) for o in modules] for m in modules]
    _, ring = connected_components(csr_matrix(imports), directed=True, connection="strong")
    rings = [
        [m.rpartition(".")[2] for m, own in zip(modules, ring, strict=True) if own == one]
        for one, many in Counter(ring.tolist()).items()
        if many > 1
    ]
    assert rings == [["conditions", "readings"]] * 2

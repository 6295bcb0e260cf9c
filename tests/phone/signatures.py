"""Hold every call of Android that we make against Android's own signatures and levels.

    python -m tests.phone.signatures STUBS TYPES

STUBS is the unpacked wheel ``chaquopy-stubs-android`` (1 MB: the classes of level 36), TYPES the
file ``android-platform-21-37-merged.d.ts`` of npm's ``@nativescript/types-android`` (4 MB: since
which level each is there, and the constants' values). ``pip download --no-deps`` and
``npm pack`` bring them. Needs a JDK. Takes half a minute.

The tests call Android by stand-ins (``tests/mobile/java``). Here

* each method, constant and return type of a stand-in is Android's, but for what tests steer it by,
  and nothing that our own sources name is of that kind;
* what Android has only over the spec's lowest level refuses there in the stand-in too, as the
  tests of that level need it to;
* every overload that Android has of them is added, each refusing, and the very scripts of
  ``tests/mobile/test_java.py`` run again: pyjnius must choose the same ones among all.
"""

import ast
import re
import shutil
import subprocess
import sys
import tempfile
from configparser import ConfigParser
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

from tests.paths import CHECKOUT

STAND_INS = CHECKOUT / "tests" / "mobile" / "java"
OURS = CHECKOUT / "mobile" / "android" / "java"
CALLING = ("device", "device_key", "java", "light_sensor")
CALLERS = [CHECKOUT / "mobile" / "ui" / f"{name}.py" for name in CALLING]
NUMBERS = {"int": {"int", "long", "short", "byte", "char"}, "float": {"float", "double"}}
NUMBERS |= {"bool": {"boolean"}, "str": {"java.lang.String", "java.lang.CharSequence"}}

Parameters = tuple[str, ...]


@dataclass
class Java:
    """A class of Android's: its bases, its methods' overloads, its constants."""

    bases: list[str] = field(default_factory=list)
    overloads: dict[str, dict[Parameters, tuple[str, bool]]] = field(default_factory=dict)
    fields: set[str] = field(default_factory=set)


class Android:
    """Android's classes, read from the stubs when asked for."""

    def __init__(self, stubs: Path) -> None:
        self._stubs = stubs

    @cache  # noqa: B019 - one of it, as long as this runs
    def package(self, name: str) -> dict[str, Java]:
        """Return the classes of a package by their names within it, nested ones with a $."""
        first, *others = name.split(".")
        path = self._stubs.joinpath(f"{first}-stubs", *others, "__init__.pyi")
        found: dict[str, Java] = {}
        if path.exists():
            for node in ast.parse(path.read_text()).body:
                if isinstance(node, ast.ClassDef):
                    self._read(name, node, node.name, found)
        return found

    def _read(self, package: str, node: ast.ClassDef, name: str, found: dict[str, Java]) -> None:
        java = found[name] = Java([self._named(package, ast.unparse(base)) for base in node.bases])
        for one in node.body:
            if isinstance(one, ast.ClassDef):
                self._read(package, one, f"{name}${one.name}", found)
            elif isinstance(one, ast.AnnAssign) and isinstance(one.target, ast.Name):
                java.fields.add(one.target.id)
            elif isinstance(one, ast.FunctionDef):
                is_static = any(ast.unparse(mark) == "staticmethod" for mark in one.decorator_list)
                called = [*one.args.posonlyargs, *one.args.args]
                taken = called if is_static else called[1:]
                told = [self._type(package, arg.annotation) for arg in taken]
                if one.args.vararg:
                    told.append(self._type(package, one.args.vararg.annotation) + "[]")
                gives = ast.unparse(one.returns) if one.returns else "None"
                overloads = java.overloads.setdefault(one.name, {})
                overloads[tuple(told)] = (gives.removesuffix(" | None"), is_static)

    def _type(self, package: str, annotation: ast.expr | None) -> str:
        words = [] if annotation is None else ast.unparse(annotation).split(" | ")
        given = [word for word in words if word != "None"]
        plain = next((w for w in given if re.fullmatch(r"java\.j[a-z]+", w)), "")
        if plain:
            return plain.removeprefix("java.j")
        java = next((word for word in given if word.startswith("java.lang.")), given[0])
        return self._named(package, java)

    def _named(self, package: str, text: str) -> str:
        if array := re.fullmatch(r"java\.chaquopy\.JavaArrayJ(\w+)", text):
            return f"{array[1].lower()}[]"
        if array := re.fullmatch(r"java\.chaquopy\.JavaArray\[(.*)\]", text):
            return self._named(package, array[1]) + "[]"
        bare = re.sub(r"\[.*", "", text).replace("typing.Type", "java.lang.Class")
        return bare if "." in bare and bare[0].islower() else f"{package}.{bare}"

    def find(self, name: str) -> Java | None:
        """Return a class by its full name, nested ones with a $ or a dot."""
        words = name.replace("$", ".").split(".")
        at = next((i for i, word in enumerate(words) if word[:1].isupper()), len(words))
        return self.package(".".join(words[:at])).get("$".join(words[at:]))

    def overloads(self, name: str, method: str) -> dict[Parameters, tuple[str, bool]]:
        """Return a method's overloads, those of the class's bases too."""
        java = self.find(name)
        if java is None:
            return {}
        all_of_them: dict[Parameters, tuple[str, bool]] = {}
        if method != "__init__":
            for base in java.bases:
                all_of_them |= self.overloads(base, method)
        return all_of_them | java.overloads.get(method, {})

    def has_field(self, name: str, constant: str) -> bool:
        """Whether a class or one of its bases has this field."""
        java = self.find(name)
        return java is not None and (
            constant in java.fields or any(self.has_field(base, constant) for base in java.bases)
        )


class Levels:
    """Since which level a class or member is there, and the constants' values."""

    def __init__(self, types: Path) -> None:
        self.since: dict[str, int] = {}
        self.values: dict[str, str] = {}
        stack: list[str] = []
        level = 1
        opening = re.compile(r"(?:declare|export) (?:abstract )?(?:module|class|interface) (\w+)")
        member = re.compile(r"public (?:static )?(\w+)\s*[(:]\s*([^;]*)")
        for raw in types.read_text().splitlines():
            line = raw.strip()
            if said := re.search(r"@since (\d+)", line):
                level = int(said[1])
            elif opened := opening.match(line):
                self._note(".".join([*stack, opened[1]]), level)
                stack.append(opened[1])
                level = 1
                continue
            elif named := member.match(line):
                name = ".".join([*stack, named[1]])
                self._note(name, level)
                self.values.setdefault(name, named[2])
                level = 1
            if line.endswith("{"):
                stack.append("")
            elif re.match(r"\}", line) and stack:
                stack.pop()

    def _note(self, name: str, level: int) -> None:
        name = ".".join(word for word in name.split(".") if word)
        self.since[name] = min(level, self.since.get(name, level))

    def of(self, name: str) -> int:
        """Return since which level a full name is there: its class's level counts too."""
        words = name.replace("$", ".").split(".")
        return max(self.since.get(".".join(words[: at + 1]), 1) for at in range(len(words)))


@dataclass
class StandIn:
    """A stand-in: its source, and what javap tells of it."""

    name: str
    source: Path
    methods: dict[str, set[tuple[Parameters, str]]]
    fields: set[str]
    is_interface: bool


def run(*command: object, cwd: Path = CHECKOUT) -> str:
    """Run a command and return what it says; end with its words where it fails."""
    done = subprocess.run(
        [str(one) for one in command], capture_output=True, text=True, check=False, cwd=cwd
    )
    if done.returncode:
        sys.exit(f"{command[0]} failed:\n{done.stdout[-4000:]}{done.stderr[-4000:]}")
    return done.stdout


def compiled(sources: list[Path], folder: Path) -> Path:
    """Compile sources into a folder."""
    run(
        "javac", "-nowarn", "-d", folder, *(path for one in sources for path in one.rglob("*.java"))
    )
    return folder


def stand_ins(classes: Path) -> list[StandIn]:
    """Return the stand-ins of Android's classes, nested ones by themselves."""
    found = []
    for path in sorted((classes / "android").rglob("*.class")):
        name = ".".join(path.relative_to(classes).with_suffix("").parts)
        if re.search(r"\$\d", name):
            continue
        outer = STAND_INS / f"{name.partition('$')[0].replace('.', '/')}.java"
        methods: dict[str, set[tuple[Parameters, str]]] = {}
        fields = set()
        told = run("javap", "-protected", "-classpath", classes, name)
        for line in told.splitlines()[2:]:
            plain = re.sub(r"<[^(]*?>", "", line.strip()).replace("...", "[]")
            if called := re.match(r"(?:[\w.$\[\]]+ )*?([\w.$\[\]]+ )?([\w.$]+)\((.*?)\)", plain):
                parameters = tuple(re.split(r", ?", called[3])) if called[3] else ()
                method = "__init__" if called[2] == name else called[2]
                gives = (called[1] or "").strip()
                methods.setdefault(method, set()).add((parameters, gives))
            elif named := re.search(r"(\w+);", plain):
                fields.add(named[1])
        found.append(StandIn(name, outer, methods, fields, " interface " in told))
    return found


def steering(one: StandIn, android: Android) -> set[str]:
    """Return what of a stand-in is not Android's: what tests steer it by."""
    ours = {name for name in one.methods if not android.overloads(one.name, name)}
    return (ours - {"__init__"}) | {f for f in one.fields if not android.has_field(one.name, f)}


def complaints(one: StandIn, android: Android, levels: Levels, lowest: int) -> list[str]:
    """Say what of a stand-in is not as Android has it."""
    said, made = [], made_by_us()
    for method, ours in one.methods.items():
        if method == "__init__" and one.name not in made:
            continue  # tests make one where Android does
        theirs = android.overloads(one.name, method)
        full = f"{one.name}.{method}"
        for parameters, gives in ours if theirs else ():
            plain = tuple(p.replace("$", ".") for p in parameters)
            match = next((g for p, g in theirs.items() if plain == p), None)
            if match is None:
                said.append(f"{full}{plain} is not one of {sorted(theirs)}")
            elif method != "__init__" and not _is_same(gives, match[0], one.name):
                said.append(f"{full} gives {gives}, Android's gives {match[0]}")
        since = 1 if one.is_interface or not theirs else levels.of(full)
        if since > lowest and not _refuses(one.source, method, since):
            said.append(f"{full} is there since {since}, and the stand-in always is")
    for constant in one.fields:
        stated = levels.values.get(f"{one.name.replace('$', '.')}.{constant}", "")
        source = re.search(rf"\b{constant} = (-?\d+|\"[^\"]*\");", one.source.read_text())
        if source and re.fullmatch(r"-?\d+|\"[^\"]*\"", stated) and source[1] != stated:
            said.append(f"{one.name}.{constant} is {stated} in Android, here {source[1]}")
    return said


def _is_same(ours: str, theirs: str, owner: str) -> bool:
    if theirs == "None":
        return ours == "void"
    if theirs in NUMBERS:
        return ours in NUMBERS[theirs]
    bare = re.sub(r"\[.*", "", theirs)
    return ours.replace("$", ".").endswith(bare.rpartition(".")[2]) or owner.endswith("$Builder")


def _refuses(source: Path, method: str, since: int) -> bool:
    body = re.search(rf"\b{method}\([^)]*\)[^{{;]*\{{(.*?)\n {{4,8}}\}}", source.read_text(), re.S)
    if body is None:
        return False
    return f"Build.since({since})" in body[1] or bool(re.search(r"statusBars\(\)", body[1]))


def named_by_us() -> set[str]:
    """Return every name behind a dot in our own sources that call Android."""
    text = "".join(path.read_text() for path in [*CALLERS, *OURS.rglob("*.java")])
    return set(re.findall(r"\.(\w+)", text))


@cache
def made_by_us() -> set[str]:
    """Return the classes of Android that our own sources make an object of, by full name."""
    python = "".join(path.read_text() for path in CALLERS)
    made = set(re.findall(r'jclass\("([\w.$]+)"\)\(', python))
    made |= set(re.findall(r'builder = jclass\("([\w.$]+)"\)', python))
    for path in OURS.rglob("*.java"):
        text = path.read_text()
        for name in re.findall(r"new (\w+)\(", text):
            made |= set(re.findall(rf"import ([\w.]+\.{name});", text))
    return made


def with_all_overloads(found: list[StandIn], android: Android, folder: Path) -> Path:
    """Copy the stand-ins and give each method every overload that Android has of it."""
    copy = Path(shutil.copytree(STAND_INS, folder / "sources"))
    known = {one.name.replace("$", ".") for one in found}
    missing: set[str] = set()
    for one in found:
        lines = []
        for method, ours in one.methods.items():
            if method == "__init__" and one.name not in made_by_us():
                continue
            have = {tuple(p.replace("$", ".") for p in parameters) for parameters, _ in ours}
            for parameters, (gives, is_static) in android.overloads(one.name, method).items():
                if parameters in have or one.is_interface:
                    continue
                missing |= {re.sub(r"\[\]", "", p) for p in parameters if p.startswith("android.")}
                lines.append(_refusing(one, method, parameters, gives, is_static))
        simple = re.split(r"[.$]", one.name)[-1]
        if any(f" {simple}(" in line for line in lines) and not re.search(
            rf"\b{simple}\([^)]*\) \{{", one.source.read_text()
        ):
            lines.append(f"    public {simple}() {{}}")  # until now it went without saying
        if lines:
            _add(copy / one.source.relative_to(STAND_INS), one.name, lines)
    for name in sorted(missing - known):
        _shell(copy, name, known)
    return copy


def _refusing(
    one: StandIn, method: str, parameters: Parameters, gives: str, is_static: bool
) -> str:
    taken = ", ".join(f"{kind} p{at}" for at, kind in enumerate(parameters))
    body = '{ throw new UnsupportedOperationException("another overload"); }'
    simple = re.split(r"[.$]", one.name)[-1]
    if method == "__init__":
        return _constructor(simple, taken, one.methods["__init__"])
    plain = {"None": "void", "str": "String", "bool": "boolean", "float": "float", "int": "int"}
    result = plain.get(gives, simple if gives.endswith(simple) else "Object")
    return f"    public {'static ' if is_static else ''}{result} {method}({taken}) {body}"


def _constructor(simple: str, taken: str, ours: set[tuple[Parameters, str]]) -> str:
    """Write another constructor; it calls one that is there, so that final fields are set."""
    plain = {"int": "0", "boolean": "false", "long": "0", "float": "0"}
    given = [plain.get(kind, f"({kind}) null") for kind in min(ours)[0]]
    return f"    public {simple}({taken}) {{ this({', '.join(given)}); }}"


def _add(source: Path, name: str, lines: list[str]) -> None:
    text = source.read_text()
    simple = re.split(r"[.$]", name)[-1]
    opened = re.search(rf"\b(?:class|interface) {simple}\b[^{{]*\{{", text)
    if opened is None:
        sys.exit(f"{source} does not declare {simple}")
    source.write_text(text[: opened.end()] + "\n" + "\n".join(lines) + text[opened.end() :])


def _shell(copy: Path, name: str, known: set[str]) -> None:
    words = name.split(".")
    at = next(i for i, word in enumerate(words) if word[:1].isupper())
    outer, nested = ".".join(words[: at + 1]), words[at + 1 :]
    path = copy / f"{outer.replace('.', '/')}.java"
    if not path.exists():
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(f"package {'.'.join(words[:at])};\n\npublic class {words[at]} {{\n}}\n")
    if nested:
        _add(path, outer, [f"    public static class {nested[0]} {{}}"])


def told_by_the_tests(classes: Path, folder: Path) -> list[str]:
    """Run the scripts of tests/mobile/test_java.py on these classes and return what they say."""
    import pythonforandroid

    recipes = Path(pythonforandroid.__file__).parent / "recipes"
    listeners = recipes / "android" / "src" / "android" / "activity.py"
    said = []
    for number, (script, *arguments) in enumerate(
        (
            ("device_in_java.py", classes, listeners),
            ("activity_in_java.py", classes, 29),
            ("activity_in_java.py", classes, 36),
            ("key_in_java.py", classes),
        )
    ):
        place = folder / f"run-{classes.name}-{number}"
        place.mkdir()
        path = CHECKOUT / "tests" / "mobile" / script
        given = arguments if script.startswith("device") else [*arguments, place]
        said.append(run("env", f"PYTHONPATH={CHECKOUT}", sys.executable, path, *given))
    return said


def main(stubs: Path, types: Path) -> None:
    """Hold all of it and say what was held; end with what is wrong."""
    spec = ConfigParser(interpolation=None)
    spec.read(CHECKOUT / "mobile" / "buildozer.spec")
    lowest = spec.getint("app", "android.minapi")
    android, levels = Android(stubs), Levels(types)
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        classes = compiled([STAND_INS, OURS], folder / "classes")
        found = stand_ins(classes)
        unknown = [one.name for one in found if android.find(one.name) is None]
        wrong = [text for one in found for text in complaints(one, android, levels, lowest)]
        steered = {name for one in found for name in steering(one, android)}
        used = sorted(steered & named_by_us())
        if unknown or wrong or used:
            sys.exit(
                "\n".join([f"No class of Android's: {unknown}", *wrong, f"Not Android's: {used}"])
            )
        held = sum(len(one.methods) for one in found)
        print(f"{len(found)} classes, {held} methods and constructors as Android has them")
        whole = compiled([with_all_overloads(found, android, folder), OURS], folder / "whole")
        if told_by_the_tests(whole, folder) != told_by_the_tests(classes, folder):
            sys.exit("With every overload of Android's the scripts say something else.")
        print(f"every overload of them there, and the same ones chosen; levels from {lowest} up")


if __name__ == "__main__":
    main(Path(sys.argv[1]), Path(sys.argv[2]))

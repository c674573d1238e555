"""Finds the public names of a package that only its tests use.

A name is a function, a class, a constant, a method or a property; fields and the members of an enumeration are found by
their values and are left out. It is used when code outside its own definition loads it: in its module, by an import, as
an attribute of its module or, where it belongs to a class, as an attribute of anything. What only unused names use is
unused too. Files are read as text; nothing of them is run.
"""

import ast
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

CALLED_BY_A_LIBRARY = frozenset({"command", "group", "compiles"})
"""The last word of a decorator that hands a function to a library."""
CALL_NOTHING = frozenset({"typing", "enum", "abc", "msgspec", "builtins"})
"""Modules outside the package whose bases call no method of what is built on them."""


@dataclass(frozen=True)
class Name:
    """A public name with its module, and the class that it belongs to; empty for none."""

    module: str
    owner: str
    name: str

    def __str__(self) -> str:
        return ".".join(part for part in (self.module, self.owner, self.name) if part)


@dataclass(frozen=True)
class Use:
    """A name that is loaded: by which definition, and of which module; no module means as an attribute of anything."""

    by: Name
    module: str
    name: str


@dataclass
class Module:
    """One file: what it imports, by its name here, what it defines, and what it uses."""

    name: str
    tree: ast.Module
    imported: dict[str, tuple[str, str]] = field(default_factory=dict)
    defined: list[Name] = field(default_factory=list)
    uses: list[Use] = field(default_factory=list)


def unused(root: Path, package: str, others: Sequence[str]) -> set[str]:
    """The public names of that package that neither it nor the other folders use.

    Args:
        root: the folder that holds them all.
        package: the name of its folder.
        others: further folders whose use counts.
    """
    modules = _read(root, [package, *others])
    names = [name for module in modules.values() for name in module.defined if name.module.split(".")[0] == package]
    users = _users(modules)
    dead: set[Name] = set()
    while found := {name for name in names if name not in dead and not _used(name, users, dead)}:
        dead |= found
    return {str(name) for name in dead if Name(name.module, "", name.owner) not in dead}


def _users(modules: dict[str, Module]) -> Mapping[tuple[str, str], set[Name]]:
    """By module and name: the definitions that use it. What a module only passes on is used where it comes from."""
    users: defaultdict[tuple[str, str], set[Name]] = defaultdict(set)
    for use in (use for module in modules.values() for use in module.uses):
        home, name = use.module, use.name
        while home in modules and name in modules[home].imported:
            home, name = modules[home].imported[name]
        users[home, name].add(use.by)
    return users


def _used(name: Name, users: Mapping[tuple[str, str], set[Name]], dead: set[Name]) -> bool:
    by = users.get(("" if name.owner else name.module, name.name), set())
    return any(not _inside(each, name) and not _of_the_dead(each, dead) for each in by)


def _inside(by: Name, name: Name) -> bool:
    """Whether that definition is the name's own, or belongs to it."""
    return by == name or (not name.owner and (by.module, by.owner) == (name.module, name.name))


def _of_the_dead(by: Name, dead: set[Name]) -> bool:
    return by in dead or Name(by.module, "", by.owner) in dead


def _read(root: Path, folders: Sequence[str]) -> dict[str, Module]:
    modules: dict[str, Module] = {}
    for path in sorted(path for folder in folders for path in (root / folder).rglob("*.py")):
        name = ".".join(path.relative_to(root).with_suffix("").parts).removesuffix(".__init__")
        modules[name] = Module(name, ast.parse(path.read_text(encoding="utf-8")))
    for module in modules.values():
        module.imported = dict(_imports(module.tree, modules))
        for statement, defined in _definitions(module):
            if _is_public(defined):
                module.defined.append(defined)
            module.uses += _uses(statement, defined, module)
    return modules


def _imports(tree: ast.Module, modules: dict[str, Module]) -> Iterator[tuple[str, tuple[str, str]]]:
    """What a file imports, by its name there: the module, and the name in it, which is empty for a whole module."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from ((alias.asname or alias.name.split(".")[0], (alias.name, "")) for alias in node.names)
        if isinstance(node, ast.ImportFrom) and node.module:
            for alias in node.names:
                whole = f"{node.module}.{alias.name}"
                package = modules.get(node.module)  # none of a folder without a module of its own
                hidden = package is not None and alias.name in _taken_in(package.tree)
                of_a_module = whole in modules and not hidden
                yield alias.asname or alias.name, (whole, "") if of_a_module else (node.module, alias.name)


def _taken_in(tree: ast.Module) -> set[str]:
    """The names that a package takes from its modules; one of them hides the module of the same name."""
    froms = [node for node in tree.body if isinstance(node, ast.ImportFrom)]
    return {alias.asname or alias.name for node in froms for alias in node.names}


def _definitions(module: Module) -> Iterator[tuple[ast.AST, Name]]:
    """Every statement of a file with the name that it defines, which may be empty; the parts of a class apart."""
    for statement in module.tree.body:
        names = _names_of(statement)
        if isinstance(statement, ast.ClassDef):
            yield from _members(statement, module)
        yield from ((statement, Name(module.name, "", name)) for name in names or [""])


def _members(owner: ast.ClassDef, module: Module) -> Iterator[tuple[ast.AST, Name]]:
    """The parts of a class; the methods that a library may call have no name of their own."""
    theirs = any(_of_a_library(base, module) for base in owner.bases)
    for statement in owner.body:
        method = isinstance(statement, ast.FunctionDef | ast.AsyncFunctionDef) and not theirs
        names = _names_of(statement) if method else []
        yield from ((statement, Name(module.name, owner.name, name)) for name in names or [""])


def _of_a_library(base: ast.expr, module: Module) -> bool:
    """Whether a class is built on one from outside the package, of those whose methods are called from there."""
    first = ast.unparse(base).split("[")[0].split(".")[0]
    home = module.imported.get(first, (module.name, ""))[0].split(".")[0]
    return home not in {module.name.split(".")[0], *CALL_NOTHING}


def _names_of(statement: ast.stmt) -> list[str]:
    if isinstance(statement, ast.FunctionDef | ast.AsyncFunctionDef):
        last_words = {ast.unparse(each).split("(")[0].split(".")[-1] for each in statement.decorator_list}
        return [] if last_words & CALLED_BY_A_LIBRARY else [statement.name]
    if isinstance(statement, ast.ClassDef):
        return [statement.name]
    if isinstance(statement, ast.Assign):
        return [target.id for target in statement.targets if isinstance(target, ast.Name)]
    if isinstance(statement, ast.AnnAssign) and isinstance(statement.target, ast.Name):
        return [statement.target.id]
    return []


def _is_public(name: Name) -> bool:
    return bool(name.name) and not name.name.startswith("_") and not name.owner.startswith("_")


def _uses(statement: ast.AST, by: Name, module: Module) -> Iterator[Use]:
    """What a statement loads; of a class only what stands outside its members."""
    for node in _without_members(statement):
        if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Load):
            yield Use(by, module.name, node.id)
        elif isinstance(node, ast.Attribute):
            yield Use(by, "", node.attr)
            if isinstance(node.value, ast.Name) and node.value.id in module.imported:
                yield Use(by, module.imported[node.value.id][0], node.attr)
        elif isinstance(node, ast.MatchClass):
            yield from (Use(by, "", name) for name in node.kwd_attrs)


def _without_members(statement: ast.AST) -> Iterator[ast.AST]:
    if not isinstance(statement, ast.ClassDef):
        yield from ast.walk(statement)
        return
    for part in (*statement.bases, *statement.keywords, *statement.decorator_list):
        yield from ast.walk(part)

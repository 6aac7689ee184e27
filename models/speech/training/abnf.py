"""Reads the subset of SRGS ABNF that grammars/README.md describes, and draws phrases from it.

A rule is a tree of tuples:

    ("word", text)                    one word
    ("all", [tree, ...])              one after the other
    ("one", [(weight, tree), ...])    one of them
    ("times", least, most, again, tree)   `again` is the probability of each further time, or None
    ("rule", file or None, name or None)  another rule; no name is the root of the file

Tags mean nothing here and are dropped.
"""

import pathlib
import re

TOKEN = re.compile(
    r"""\s+ | //[^\n]* | /\*.*?\*/ | <[a-z][^>]*>
      | \{!\{.*?\}!\} | \{[^}]*\}
      | (?P<repeat> <\d+(?:-\d+)?(?:\s*/[\d.]+/)?> )
      | (?P<weight> /[\d.]+/ )
      | (?P<outer>  \$<[^>]+> )
      | (?P<rule>   \$[A-Za-z][\w-]* )
      | "(?P<quoted>[^"]*)"
      | (?P<mark>   [;=|()\[\]] )
      | (?P<word>   [^\s;=|*+<>()\[\]{}/$!"]+ )
    """,
    re.X | re.S,
)


class Grammar:
    """One file: its rules by name, and the name of its root."""

    def __init__(self, text):
        self.rules, self.root = {}, None
        _, _, body = text.partition("\n")  # the first line names the form
        tokens = []
        at = 0
        while at < len(body):
            match = TOKEN.match(body, at)
            if not match:
                raise ValueError(f"cannot be read from here on: {body[at : at + 40]!r}")
            at = match.end()
            if match.lastgroup:
                tokens.append((match.lastgroup, match.group(match.lastgroup)))
        self.tokens, self.at = tokens, 0
        while self.at < len(tokens):
            self._statement()

    def _peek(self):
        return self.tokens[self.at] if self.at < len(self.tokens) else ("end", "")

    def _next(self):
        token = self._peek()
        self.at += 1
        return token

    def _expect(self, mark):
        token = self._next()
        if token != ("mark", mark):
            raise ValueError(f"`{mark}` expected, found {token[1]!r}")

    def _statement(self):
        kind, text = self._next()
        if kind == "word" and text in ("public", "private"):
            kind, text = self._next()
        if kind == "rule":
            self._expect("=")
            self.rules[text[1:]] = self._choice()
            self._expect(";")
            return
        if text == "root":
            self.root = self._peek()[1].lstrip("$")
        while self._next() not in (("mark", ";"), ("end", "")):
            pass

    def _choice(self):
        ways = [self._weighted()]
        while self._peek() == ("mark", "|"):
            self._next()
            ways.append(self._weighted())
        return ways[0][1] if len(ways) == 1 else ("one", ways)

    def _weighted(self):
        weight = 1.0
        if self._peek()[0] == "weight":
            weight = float(self._next()[1].strip("/"))
        items = []
        while True:
            kind, text = self._peek()
            if kind == "end" or (kind == "mark" and text in ";|)]"):
                return weight, ("all", items)
            items.append(self._item())

    def _item(self):
        kind, text = self._next()
        if kind == "word":
            item = ("word", text)
        elif kind == "quoted":
            item = ("all", [("word", word) for word in text.split()])
        elif kind == "rule":
            item = ("all", []) if text in ("$NULL", "$GARBAGE") else ("rule", None, text[1:])
        elif kind == "outer":
            file, _, name = text[2:-1].partition("#")
            item = ("rule", file, name or None)
        elif text in "([":
            item = self._choice()
            self._expect(")" if text == "(" else "]")
            if text == "[":
                item = ("times", 0, 1, None, item)
        else:
            raise ValueError(f"{text!r} is out of place")
        while self._peek()[0] == "repeat":
            least, most, again = re.match(r"<(\d+)(?:-(\d+))?(?:\s*/([\d.]+)/)?>", self._next()[1]).groups()
            item = ("times", int(least), int(most or least), again and float(again), item)
        return item


class Grammars:
    """Files that refer to each other. `flatten` below one makes rare ways of saying things more frequent."""

    def __init__(self, folders, flatten=0.5):
        self.files, self.flatten = {}, flatten
        for path in sorted(path for folder in folders for path in pathlib.Path(folder).glob("*.abnf")):
            self.files[path.name] = Grammar(path.read_text())

    def words(self):
        """Every word that stands in any rule."""
        found = set()

        def visit(tree):
            kind = tree[0]
            if kind == "word":
                found.add(tree[1])
            elif kind == "all":
                for part in tree[1]:
                    visit(part)
            elif kind == "one":
                for _, way in tree[1]:
                    visit(way)
            elif kind == "times":
                visit(tree[4])

        for grammar in self.files.values():
            for tree in grammar.rules.values():
                visit(tree)
        return found

    def draw(self, random, file, name=None, situation=None, hook=None):
        """Words of one phrase. `situation` gives the rules of situation.abnf: name -> function of `random`, a list of
        words. `hook(file, rule, words)` may change what a rule gave."""

        def expand(tree, here):
            kind = tree[0]
            if kind == "word":
                return [tree[1]]
            if kind == "all":
                return [word for part in tree[1] for word in expand(part, here)]
            if kind == "one":
                weights = [weight**self.flatten for weight, _ in tree[1]]
                return expand(random.choices([way for _, way in tree[1]], weights)[0], here)
            if kind == "times":
                _, least, most, again, part = tree
                if again is None:
                    times = random.randint(least, most)
                else:
                    times = least
                    while times < most and random.random() < again**self.flatten:
                        times += 1
                return [word for _ in range(times) for word in expand(part, here)]
            return rule(tree[1] or here, tree[2])

        def rule(file, name):
            if file == "situation.abnf":
                words = situation[name](random)
            else:
                grammar = self.files[file]
                name = name or grammar.root
                words = expand(grammar.rules[name], file)
            return hook(file, name, words) if hook else words

        return rule(file, name)

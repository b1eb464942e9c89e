from __future__ import annotations

import tomllib

from hypothesis import given, settings
from hypothesis import strategies as st

from engrave.regimen.toml_lines import key_lines

TEXT = '''\
# a comment with = and [brackets]
top = 1 # and one behind
[player]
name = "a # b = [c]"
"quoted key" = 'single \\'
weak = [
  "m-a", # why = not
  "]",
]
long = """
[study]
fake = 1
"quoted" \\""" end"""
after = 2
[a.b]
c.d = { e = 1, f = "}" }
[[study]]
pluck = "m-a"
[[study]]
  pluck = "i-m"
[study.more]
deep = 1
'''


def test_each_key_is_on_its_line() -> None:
    """Comments, strings, arrays over several lines and headings do not shift the lines."""
    found = key_lines(TEXT)
    expected = {
        ("top",): 2,
        ("player",): 3,
        ("player", "name"): 4,
        ("player", "quoted key"): 5,
        ("player", "weak"): 6,
        ("player", "long"): 10,
        ("player", "after"): 14,
        ("a", "b"): 15,
        ("a", "b", "c", "d"): 16,
        ("study", 0): 17,
        ("study", 0, "pluck"): 18,
        ("study", 1): 19,
        ("study", 1, "pluck"): 20,
        ("study", 1, "more"): 21,
        ("study", 1, "more", "deep"): 22,
    }
    assert tomllib.loads(TEXT)["player"]["after"] == 2
    assert dict(found) == expected


def test_an_empty_text_has_no_keys() -> None:
    """Nothing, blank lines and comments have no keys."""
    assert dict(key_lines("")) == {}
    assert dict(key_lines("\n  \n# only words\n")) == {}


VALUES = st.sampled_from(
    [
        "1",
        "true",
        '"x"',
        "'#'",
        '"""a\nb"""',
        "'''c\n''d'''",
        "[1, 2]",
        "[\n 1, # one\n 2\n]",
        "{ a = 1 }",
        "1979-05-27",
    ]
)


@settings(max_examples=100, deadline=None)
@given(st.lists(st.tuples(VALUES, st.sampled_from(["", " # note", "\n", "\n\n# line\n"])), max_size=12))
def test_keys_are_found_where_they_were_put(rows: list[tuple[str, str]]) -> None:
    """Whatever the values above it, a key is reported on the line it was written on."""
    text, expected = "", {}
    for index, (value, after) in enumerate(rows):
        expected[(f"key{index}",)] = text.count("\n") + 1
        text += f"key{index} = {value}{after}\n"
    tomllib.loads(text)
    assert dict(key_lines(text)) == expected

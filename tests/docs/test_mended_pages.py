"""What is put into built pages: tables of keys as lists on a telephone, words that stay whole."""

from __future__ import annotations

KEYS = ("key", "type", "default", "meaning")


def table_of(headings, *rows):
    heads = "".join(f'<th class="head"><p>{each}</p></th>' for each in headings)
    body = "".join(
        f'<tr class="row-even">{"".join(f"<td><p>{each}</p></td>" for each in row)}</tr>'
        for row in rows
    )
    return (
        f'<table class="docutils align-default"><thead><tr class="row-odd">{heads}</tr></thead>'
        f"<tbody>{body}</tbody></table>"
    )


def test_a_cell_has_the_heading_of_its_column(site_modules):
    from stacked_tables import with_stacked_tables

    page = with_stacked_tables(table_of(KEYS, ("<code>bed</code>", "lengths", "", "its size")))
    assert 'class="stacked docutils align-default"' in page
    assert '<td role="cell" data-label="key"><p><code>bed</code></p></td>' in page
    assert '<td role="cell" data-label="default" class="empty"><p></p></td>' in page
    assert '<td role="cell" data-label="meaning"><p>its size</p></td>' in page
    assert page.count('role="row"') == 2
    assert page.count('role="columnheader"') == len(KEYS)


def test_other_tables_stay_as_they_are(site_modules):
    from stacked_tables import with_stacked_tables

    numbers = table_of(("stage", "10", "100", "1,000"), ("graph", "1", "2", "3"))
    narrow = table_of(KEYS[:3], ("bed", "lengths", ""))
    assert with_stacked_tables(numbers + narrow) == numbers + narrow


def test_each_table_of_a_page_has_its_own_headings(site_modules):
    from stacked_tables import with_stacked_tables

    rules = table_of(("rule", "level", "for each", "what"), ("a.b", "STOP", "pass", "it clears"))
    page = with_stacked_tables(table_of(KEYS, ("bed", "a", "b", "c")) + rules)
    assert 'data-label="what"><p>it clears</p>' in page
    assert page.count('data-label="meaning"') == 1


def test_options_are_not_broken_at_their_hyphens(site_modules):
    from mending import mended, with_whole_words

    assert with_whole_words('<b data-x="a-b">x</b> --dist\n') == (
        '<b data-x="a-b">x</b> <span class="whole">--dist</span>\n'
    )
    assert with_whole_words("-0.286 to -0.038 - 1") == (
        '<span class="whole">-0.286</span> to <span class="whole">-0.038</span> - 1'
    )
    typed = '<div class="highlight-{} notranslate"><div><pre>a --b</pre></div></div>'
    assert '<span class="whole">--b</span>' in mended(typed.format("sh"))
    assert "whole" not in mended(typed.format("python"))

"""Rules asked once more in other Pythons: how they are found there, and what comes of those that
are not.
"""

from __future__ import annotations

import importlib.util
import os
import py_compile
import sys

import planted
import pytest

from signrules import sample_job
from signrules.testing.other_python import ASKED, hash_differences

RULE = '''
from signrules import check, rule, shop_practice


@rule("ourshop.by-hash", each="job", source=shop_practice("an invented house rule"))
def by_hash(item):
    """It depends on how texts hash.

    Why it matters: it is planted for a test.
    A job that breaks it: none.
    One that meets it: any.
    """
    told = hash("a text that hashes otherwise under each seed") % 1_000_003
    yield check("a hash", measured=told, least=0, unit="")
'''
IN_A_SET = (
    RULE + "\nfrom signrules import RuleSet\n\nOURS = RuleSet('ourshop', (by_hash,))\ndel by_hash\n"
)
NOISY = "print('a module that talks')\n" + RULE.replace(
    "    yield", "    print('a rule that talks')\n    yield"
)
ENDING = "import sys\n\nif 'pytest' not in sys.modules:\n    sys.exit('it ends here')\n" + RULE
ONLY_HERE = "import sys\n\nif 'pytest' not in sys.modules:\n    raise RuntimeError('no')\n" + RULE


@pytest.fixture
def loaded(tmp_path, monkeypatch):
    """A module of a text, from a file that its name does not lead to."""

    def load(text):
        path = tmp_path / "house_rules.py"
        path.write_text(text, encoding="utf-8")
        spec = importlib.util.spec_from_file_location("nowhere_to_be_imported", path)
        module = importlib.util.module_from_spec(spec)
        monkeypatch.setitem(sys.modules, spec.name, module)
        spec.loader.exec_module(module)
        return module

    return load


def told(rule, documents):
    return [(name, document) for name, _, document in hash_differences([rule], documents)]


@pytest.mark.slow
def test_a_rule_is_found_by_its_module_and_by_its_file(loaded):
    document = sample_job()
    assert told(planted.depends_on_the_hash_of_texts, [document]) == [("planted.hash", document)]
    assert told(planted.sound, [document]) == []
    assert told(loaded(RULE).by_hash, [document]) == [("ourshop.by-hash", document)]
    (in_a_set,) = loaded(IN_A_SET).OURS.rules
    assert told(in_a_set, [document]) == [("ourshop.by-hash", document)]


@pytest.mark.slow
def test_a_rule_that_another_python_cannot_find_is_left_out(loaded, tmp_path):
    assert told(loaded(ONLY_HERE).by_hash, [sample_job()]) == []
    module = loaded(RULE)
    (tmp_path / "house_rules.py").unlink()
    assert told(module.by_hash, [sample_job()]) == []


@pytest.mark.slow
def test_a_rule_is_found_by_its_file_where_its_module_is_another_one_there(loaded, monkeypatch):
    rule = loaded(RULE).by_hash
    monkeypatch.setattr(rule.function, "__module__", "json")
    assert told(rule, [sample_job()]) == [("ourshop.by-hash", sample_job())]


@pytest.mark.slow
def test_a_file_that_was_changed_within_the_second_is_compiled_there_from_its_source(
    loaded, tmp_path
):
    path = tmp_path / "house_rules.py"
    rule = loaded(RULE).by_hash
    py_compile.compile(str(path))
    saved = path.stat()
    path.write_text(RULE.replace("hash(", "len ("), encoding="utf-8")
    os.utime(path, ns=(saved.st_atime_ns, saved.st_mtime_ns))
    assert path.stat().st_size == saved.st_size
    assert told(rule, [sample_job()]) == []


@pytest.mark.slow
def test_a_script_is_not_run_again(loaded, monkeypatch):
    rule = loaded(ENDING).by_hash
    monkeypatch.setattr(rule.function, "__module__", "__main__")
    assert told(rule, [sample_job()]) == []


@pytest.mark.slow
def test_a_module_that_asks_when_it_is_imported_does_not_ask_without_end(loaded, monkeypatch):
    monkeypatch.setenv(ASKED, "1")
    assert told(planted.depends_on_the_hash_of_texts, [sample_job()]) == []
    monkeypatch.delenv(ASKED)
    asking = "\nfrom signrules.testing.other_python import hash_differences\nimport sys\n\n"
    asking += (
        "if 'pytest' not in sys.modules:\n    assert list(hash_differences([by_hash], [])) == []\n"
    )
    assert told(loaded(RULE + asking).by_hash, [sample_job()]) == [
        ("ourshop.by-hash", sample_job())
    ]


@pytest.mark.slow
def test_what_a_module_and_a_rule_print_is_no_part_of_the_answer(loaded):
    assert told(loaded(NOISY).by_hash, [sample_job()]) == [("ourshop.by-hash", sample_job())]


@pytest.mark.thorough
def test_another_python_that_ends_too_early_is_an_error_and_no_agreement(loaded):
    rule = loaded(ENDING).by_hash
    with pytest.raises(RuntimeError, match="another Python ended with 1: it ends here"):
        told(rule, [sample_job()])


@pytest.mark.slow
def test_documents_that_are_no_jobs_there_are_passed_over():
    unknown = sample_job() | {"standards": ["known-to-a-plugin-alone"]}
    documents = [{"signrules": 1}, unknown, sample_job()]
    assert told(planted.depends_on_the_hash_of_texts, documents) == [("planted.hash", sample_job())]

"""Settings of the documentation site; `build.py` beside this file says where its pages
come from.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path

SITE = Path(__file__).parent
sys.path.insert(0, str(SITE))

import autodoc_hooks  # noqa: E402, a module of this folder

import signrules  # noqa: E402

project = "signrules"
release = version = signrules.__version__
root_doc = "README"
extensions = ["myst_parser", "sphinx.ext.autodoc", "sphinx.ext.intersphinx", "sphinx_copybutton"]
suppress_warnings = ["myst.header"]
nitpicky = True

myst_heading_anchors = 4
myst_enable_extensions = ["attrs_block"]

# Docstrings write names in single backticks.
default_role = "code"
autodoc_member_order = "bysource"
autodoc_typehints = "signature"
autodoc_typehints_format = "short"
python_use_unqualified_type_names = True
python_maximum_signature_line_length = 72
add_module_names = False
toc_object_entries_show_parents = "hide"

# The build needs no network: other documentation is linked where its inventory is named.
inventory = os.environ.get("SIGNRULES_INTERSPHINX")
intersphinx_mapping = {}
if inventory:
    intersphinx_mapping["python"] = ("https://docs.python.org/3", inventory)

copybutton_prompt_text = r"\$ "
copybutton_prompt_is_regexp = True

templates_path = ["templates"]
html_theme = "furo"
html_title = f"signrules {release}"
html_favicon = str(SITE / "mark.svg")
html_static_path = [str(SITE / "static")]
html_css_files = ["pictures.css", "site.css"]
html_js_files = ["current_page.js"]
html_search_scorer = str(SITE / "scorer.js")
html_theme_options = {
    "navigation_with_keys": False,
    "light_css_variables": {"color-brand-primary": "#0b5a8a", "color-brand-content": "#0b5a8a"},
    "dark_css_variables": {"color-brand-primary": "#6cb8ee", "color-brand-content": "#6cb8ee"},
}
pygments_style = "a11y-high-contrast-light"
pygments_dark_style = "a11y-high-contrast-dark"
html_show_sphinx = False
html_show_copyright = False
html_show_sourcelink = False
html_copy_source = False
# The list of public names says more than an index of them.
html_use_index = False
html_domain_indices = False


def setup(app: autodoc_hooks.Sphinx) -> None:
    """Let the hooks of this site take part."""
    autodoc_hooks.connect(app)

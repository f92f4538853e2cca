"""Settings of the documentation site; `build.py` beside this file says where its pages
come from.
"""

project = "signrules"
root_doc = "README"
extensions = ["myst_parser"]
myst_heading_anchors = 4
suppress_warnings = ["myst.header"]  # a docstring may stand under a heading of any depth
nitpicky = True

html_theme = "alabaster"
html_theme_options = {"show_powered_by": False, "page_width": "64em", "sidebar_width": "17em"}
html_sidebars = {"**": ["about.html", "searchfield.html", "navigation.html"]}
pygments_style = "vs"  # its colours keep 4.5 to 1 on the ground of code blocks, also for output
html_title = "signrules"
html_show_sphinx = False
html_show_copyright = False
html_show_sourcelink = False
html_copy_source = False

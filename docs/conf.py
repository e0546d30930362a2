"""How the pages of `docs/` are built; `python3 dev.py docs` does it.

The tour is Markdown, the reference of commands comes from the click commands, the reference of the
Python API from docstrings. Nothing in the pages asks the network for anything.
"""

from __future__ import annotations

import sys
from pathlib import Path

import img2plate

sys.path.insert(0, str(Path(__file__).parent))

project = "img2plate"
version = release = img2plate.__version__
project_copyright = "2026 the img2plate founders"
extensions = ["myst_parser", "sphinx.ext.autodoc", "click_reference", "plain_docstrings"]
exclude_patterns = ["pictures"]
suppress_warnings = ["ref.python"]  # two rooms may each have a `Measured`

smartquotes = False  # they make one dash of the two of an option
myst_heading_anchors = 3

autodoc_member_order = "bysource"
autodoc_default_options = {"members": True, "ignore-module-all": True}
autodoc_typehints_format = "short"
python_use_unqualified_type_names = True

toc_object_entries = False  # the list of contents names modules, not each function
html_use_index = html_domain_indices = False  # the search finds names

html_theme = "furo"
html_title = "img2plate"
html_copy_source = False
html_show_sphinx = False

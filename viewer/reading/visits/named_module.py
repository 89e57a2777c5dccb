"""A trace file that names another module than the site's layout has in that string.

The layout decides what is predicted: a file has one word for it, and no number of modules. But
where the two contradict each other one of them is wrong, and so it is said.
"""

import re
from dataclasses import replace

from viewer.site_data.iv_trace import Trace
from viewer.site_data.site_layout import SiteLayout


def with_module_remark(trace: Trace, layout: SiteLayout) -> Trace:
    """The trace, with a sentence where its `module` is not that of its string in the layout."""
    string = layout.string(*trace.place)
    if not trace.module or string is None:
        return trace
    named = module_keys(trace.module, layout)
    if string.module in named:
        return trace
    known = "" if named else ", a name that the site's layout does not know"
    remark = (
        f"The file says that its modules are '{trace.module[:40]}'{known}; by the site's layout "
        f"this string has {string.module}, which was used."
    )
    return replace(trace, remarks=(*trace.remarks, remark))


def module_keys(name: str, layout: SiteLayout) -> list[str]:
    """The keys of the datasheets so called, by their key or their name in the module library.

    Capitals, spaces and signs between words do not matter.
    """
    wanted = _letters(name)
    return [
        key
        for key, sheet in layout.modules.items()
        if wanted in (_letters(key), _letters(sheet.library or key))
    ]


def _letters(name: str) -> str:
    return re.sub(r"[\W_]+", "", name.casefold())

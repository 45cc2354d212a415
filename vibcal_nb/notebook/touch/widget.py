"""The widget that carries what a person does to the panel, and what is to be seen back."""

from __future__ import annotations

from functools import cache
from typing import Any

from vibcal_nb.notebook.touch.front import script, style_sheet
from vibcal_nb.notebook.touch.panel import TouchPanel


def touch_widget(panel: TouchPanel) -> Any:
    """Return the widget of a panel.

    Each message is answered before the next is taken: the browser keeps its newest back until then, so that a drag
    leaves no queue. What takes longer, the reasons of a verdict, follows by itself.
    """
    widget = _widget_class()(fixed=panel.fixed(), seen=panel.seen() | {"answers": 0}, reasons=panel.reasons())

    def take(_: Any, message: Any, __: Any) -> None:
        if not isinstance(message, dict):
            return
        panel.do(message)
        widget.seen = panel.seen() | {"answers": int(message.get("number") or 0)}
        if message.get("last", True):  # nothing waits in the browser
            widget.reasons = panel.reasons()

    widget.on_msg(take)
    return widget


@cache
def _widget_class() -> type[Any]:
    import anywidget  # only where a person explores
    import traitlets

    class Touch(anywidget.AnyWidget):  # type: ignore[misc, unused-ignore]
        _esm = script()
        _css = style_sheet()
        fixed = traitlets.Dict().tag(sync=True)
        seen = traitlets.Dict().tag(sync=True)
        reasons = traitlets.Unicode().tag(sync=True)

    return Touch

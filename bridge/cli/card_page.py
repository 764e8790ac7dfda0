"""The card as a page of HTML that needs nothing else: no script, no font, no other file."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final, Literal, TypeAlias

from bridge.check.meanings import SENTENCES, Meaning
from bridge.cli.card_looks import ABOUT_COLOURS, NO_SAFETY_DEVICE, TITLE, Look, answers, looks
from bridge.scenes.picture import FLASH_LIMIT, PIXEL, Lights, Motions, escaped, lights_svg

PaperSize: TypeAlias = Literal["a4", "letter"]

_PAGES: Final[dict[PaperSize, str]] = {"a4": "A4", "letter": "letter"}
_STYLE: Final = """\
@page{{size:{page} portrait;margin:10mm}}
*{{box-sizing:border-box;-webkit-print-color-adjust:exact;print-color-adjust:exact}}
body{{margin:0 auto;max-width:190mm;color:#000;background:#fff;font:9pt/1.3 sans-serif}}
h1{{margin:0 0 2mm;font-size:16pt}}
section{{display:grid;grid-template-columns:84mm 1fr;gap:4mm;padding:1.6mm 0;
border-top:.3mm solid #000;break-inside:avoid}}
h2{{margin:0;font-size:11pt}}
h2 small{{font-weight:normal;font-size:8pt}}
figure{{margin:0 0 1mm}}
figure svg{{vertical-align:middle;margin-right:2mm}}
figcaption{{font-size:8pt;line-height:1.2}}
ul{{margin:0;padding:0;list-style:none}}
i{{font-size:8pt}}
footer{{border-top:.3mm solid #000;padding-top:1.6mm}}
footer strong{{font-size:11pt}}
{motions}
"""


def card_page(meanings: Sequence[Meaning], paper: PaperSize) -> str:
    """The whole document."""
    motions = Motions()
    sections = "\n".join(_section(each, motions) for each in meanings)
    style = _STYLE.format(page=_PAGES[paper], motions=motions.css())
    return f"""\
<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width">
<title>{escaped(TITLE)}</title>
<style>
{style}</style>
</head>
<body>
<h1>{escaped(TITLE)}</h1>
{sections}
<footer>
<strong>{escaped(NO_SAFETY_DEVICE)}</strong><br>
{escaped(ABOUT_COLOURS)} <span class="screen">{escaped(FLASH_LIMIT)}</span>
</footer>
</body>
</html>
"""


def _section(meaning: Meaning, motions: Motions) -> str:
    sentence, _ = SENTENCES[meaning.scene.says]
    figures = "".join(_figure(each, motions) for each in looks(meaning))
    reasons = "".join(_reasons(meaning))
    name = escaped(meaning.scene.name)
    return (
        f"<section><div>{figures}</div>"
        f"<div><h2>{escaped(sentence)} <small>{name}</small></h2><ul>{reasons}</ul></div></section>"
    )


def _figure(look: Look, motions: Motions) -> str:
    strips = [_strip((frame,), motions) for frame in look.phases]
    if look.moving:
        strips.append(_strip(look.moving, motions, screen_only=True))
    when = f"<b>{escaped(look.when)}:</b> " if look.when else ""
    return f"<figure>{''.join(strips)}<figcaption>{when}{escaped(look.words)}</figcaption></figure>"


def _strip(frames: tuple[bytes, ...], motions: Motions, *, screen_only: bool = False) -> str:
    lights = Lights(1, 1, frames, screen_only=screen_only)
    width, height = len(frames[0]) // 3 * PIXEL[0] + 1, PIXEL[1] + 2
    size = f'viewBox="0 0 {width} {height}" width="{width}" height="{height}"'
    shown = ' class="screen"' if screen_only else ""
    # The caption says what it is.
    return f'<svg {size}{shown} aria-hidden="true">{lights_svg(lights, motions)}</svg>'


def _reasons(meaning: Meaning) -> Iterator[str]:
    for what, answer, cause in answers(meaning):
        behind = f"<br><i>{escaped(cause)}</i>" if cause else ""
        yield f"<li><b>{escaped(what)}</b>: {escaped(answer)}{behind}</li>"

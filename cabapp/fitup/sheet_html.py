"""The sign-off sheet as one page of HTML that needs nothing else, to print or keep."""

from html import escape

from cabapp.fitup.signoff import GOOD, Line, Sheet, Standing

STYLE = """
body { font: 16px/1.45 sans-serif; max-width: 52em; margin: 2em auto; color: #000; }
h1 { margin: 0; } p.machine { margin: 0 0 1.5em; color: #3f3f3f; }
table { width: 100%; border-collapse: collapse; }
th, td { text-align: left; vertical-align: top; padding: .45em .6em; }
th, td { border-bottom: 1px solid #aaa; }
td.word { white-space: nowrap; font-weight: bold; }
tr.open td { border-left: 6px solid #000; }
.box { border: 3px solid #000; padding: .7em 1em; margin: 1.5em 0; font-weight: bold; }
.names { display: flex; gap: 4em; margin-top: 3em; }
.names div { flex: 1; border-top: 1px solid #000; padding-top: .3em; }
@media print { body { margin: 0; } }
""".strip()
SIGNS = {Standing.PROVEN: "✓", Standing.TAPED: "✓", Standing.NOT_FITTED: "–"}
DEFER = (
    "This sheet does not replace the operator's manuals of tractor and tool, nor local rules. "
    "Never go under a raised tool without mechanical locks."
)


def sheet_html(sheet: Sheet) -> str:
    """The whole page; every text is escaped, nothing is fetched from anywhere."""
    proven = [line for line in sheet.lines if line.standing in GOOD]
    unproven = [line for line in sheet.lines if line.standing not in GOOD]
    body = [
        f"<h1>{escape(sheet.title)}</h1>",
        f'<p class="machine">{escape(sheet.machine)}. {escape(_signed(sheet))}</p>',
        f"<h2>Verified: {sheet.proven} of {sheet.to_prove}</h2>",
        _table(proven) if proven else "<p>Nothing was verified.</p>",
        "<h2>Not verified</h2>",
        _table(unproven) if unproven else "<p>Nothing was left open.</p>",
        f'<div class="box">{escape(sheet.verdict)}</div>',
        *(f'<div class="box">{escape(text)}</div>' for text in sheet.limits),
        f"<p>{escape(DEFER)}</p>",
        f'<div class="names"><div>Fitted by: {escape(sheet.fitted_by or "not signed")}</div>'
        f"<div>Seen by: {escape(sheet.seen_by or 'not signed')}</div></div>",
    ]
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        f"<title>{escape(sheet.title)}: {escape(sheet.machine)}</title>\n"
        f"<style>\n{STYLE}\n</style>\n</head>\n<body>\n" + "\n".join(body) + "\n</body>\n</html>\n"
    )


def _signed(sheet: Sheet) -> str:
    return f"Signed on {sheet.signed_on}" if sheet.signed_on else "Not signed"


def _table(lines: list[Line]) -> str:
    rows = "\n".join(_row(line) for line in lines)
    return (
        f"<table>\n<tr><th></th><th>What</th><th>How</th><th>Standing</th></tr>\n{rows}\n</table>"
    )


def _row(line: Line) -> str:
    good = line.standing in GOOD
    how = escape(line.how) + (f"<br>{escape(line.meaning)}" if line.meaning else "")
    sign = SIGNS.get(line.standing, "✗")
    return (
        f'<tr class="{"good" if good else "open"}"><td>{sign}</td><td>{escape(line.what)}</td>'
        f'<td>{how}</td><td class="word">{escape(line.standing.value)}</td></tr>'
    )

"""The look of the web page, on screen and on paper."""

from __future__ import annotations

from wayside.report.figures.canvas import AGREE, DIFFER, HAND, INK, QUIET, RULE, SOUND, UNSURE

CSS = f"""
:root {{ color-scheme: light; }}
* {{ box-sizing: border-box; }}
body {{ margin: 0 auto; padding: 1.5rem 1.2rem 4rem; max-width: 52rem; background: #ffffff;
  color: {INK}; font: 1rem/1.5 "DejaVu Sans", Verdana, Arial, sans-serif; }}
.skip a {{ position: absolute; left: -999rem; }}
.skip a:focus {{ left: 1rem; top: .5rem; background: #ffffff; padding: .3rem .6rem; }}
header {{ border-bottom: 3px solid {INK}; margin-bottom: 1rem; }}
h1 {{ font-size: 1.9rem; line-height: 1.2; margin: 0 0 .5rem; overflow-wrap: anywhere; }}
header p {{ margin: .15rem 0; color: {QUIET}; overflow-wrap: anywhere; }}
header .names {{ display: flex; gap: 1.5rem; margin: .6rem 0 .8rem; }}
nav ul {{ display: flex; flex-wrap: wrap; gap: .2rem 1.2rem; list-style: none; padding: 0;
  margin: 0 0 1rem; font-size: .9rem; }}
a {{ color: {SOUND}; }}
h2 {{ font-size: 1.35rem; margin: 2.2rem 0 .6rem; padding-bottom: .2rem;
  border-bottom: 1px solid {RULE}; overflow-wrap: anywhere; }}
h3 {{ font-size: 1.05rem; margin: 1.3rem 0 .3rem; }}
p, ul, ol {{ margin: .5rem 0; overflow-wrap: anywhere; }}
.quiet {{ color: {QUIET}; font-size: .92rem; }}
.note {{ border-left: 4px solid {RULE}; padding-left: .8rem; }}
.verdict {{ font-size: 1.5rem; line-height: 1.35; border-left: .5rem solid {UNSURE};
  padding: .2rem 0 .2rem .9rem; color: {UNSURE}; }}
.verdict.agree {{ color: {AGREE}; border-left-style: solid; border-color: {AGREE}; }}
.verdict.disagree {{ color: {DIFFER}; border-left-style: double; border-color: {DIFFER}; }}
.verdict.borderline {{ border-left-style: dashed; }}
.frame {{ overflow-x: auto; margin: .8rem 0; }}
table {{ border-collapse: collapse; width: 100%; font-size: .92rem;
  font-variant-numeric: tabular-nums; }}
table.wide {{ font-size: .78rem; }}
caption {{ text-align: left; font-weight: bold; padding: .3rem 0; }}
th, td {{ padding: .28rem .5rem; border-bottom: 1px solid {RULE}; vertical-align: top;
  text-align: right; }}
th[scope=row], .words {{ text-align: left; overflow-wrap: anywhere; }}
th[scope=row] {{ font-weight: normal; min-width: 7rem; }}
td:not(.words) {{ white-space: nowrap; }}
td.words {{ min-width: 5rem; }}
thead th, thead th.words {{ border-bottom: 2px solid {INK}; overflow-wrap: normal; }}
.hand {{ color: {HAND}; }}
thead .hand {{ border-bottom: 2px dashed {HAND}; }}
.sound {{ color: {SOUND}; }}
thead .sound {{ border-bottom: 2px solid {SOUND}; }}
td.blank {{ min-width: 5.5rem; height: 2.4rem; border: 1px solid {INK}; }}
.step math, .formula math {{ display: block math; text-align: left; width: max-content;
  margin: .35rem 0 .35rem 1.4rem; }}
.step, .formula {{ overflow-x: auto; }}
math {{ font-size: 1.1rem; }}
figure {{ margin: 1rem 0; }}
figure svg {{ display: block; width: 100%; height: auto; }}
figcaption {{ font-size: .88rem; color: {QUIET}; }}
figcaption strong {{ color: {INK}; }}
pre {{ white-space: pre-wrap; overflow-wrap: anywhere; background: #f4f2ed; padding: .7rem;
  font: .82rem/1.45 "DejaVu Sans Mono", monospace; }}
.fill-in {{ display: flex; align-items: flex-end; gap: .6rem; margin: .8rem 0; flex: 1; }}
.fill-in .rule {{ flex: 1; min-width: 4rem; border-bottom: 1px solid {INK}; height: 1.6rem; }}
.fill-in.long {{ display: block; }}
.fill-in.long .rule {{ display: block; height: 2.1rem; }}
.new-page {{ border-top: 3px double {INK}; margin-top: 4rem; }}
@media print {{
  @page {{ margin: 16mm 16mm 18mm; @bottom-right {{ content: counter(page); }} }}
  body {{ max-width: none; padding: 0; font-size: 10pt; }}
  nav, .skip {{ display: none; }}
  .new-page {{ break-before: page; border-top: 0; margin-top: 0; }}
  h2, h3, caption, section > .quiet {{ break-after: avoid; }}
  figure, tr, .step, .formula, .fill-in, .verdict {{ break-inside: avoid; }}
  thead {{ display: table-header-group; }}
  .frame, .step, .formula {{ overflow: visible; }}
  .hand, .sound, .verdict {{ print-color-adjust: exact; -webkit-print-color-adjust: exact; }}
}}
"""

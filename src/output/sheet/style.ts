/** The look of a sheet: an engineer's worksheet, light, dark and on paper. */

import { colourVariables, DARK, PRINT } from '../chart/colours.ts';
import { PAGE_COLOURS } from '../listening-page.ts';

const LIGHT_COLOURS = `${colourVariables(PRINT)};--quiet:${PAGE_COLOURS.light.quiet};--edge:${PAGE_COLOURS.light.edge};--mark:${PAGE_COLOURS.light.mark}`;
const DARK_COLOURS = `${colourVariables(DARK)};--quiet:${PAGE_COLOURS.dark.quiet};--edge:${PAGE_COLOURS.dark.edge};--mark:${PAGE_COLOURS.dark.mark}`;

/** The style sheet; no text of a patch is in it. */
export const SHEET_STYLE = `:root{color-scheme:light dark;${LIGHT_COLOURS}}
@media screen and (prefers-color-scheme:dark){:root{${DARK_COLOURS}}.score{filter:invert(1) hue-rotate(180deg);mix-blend-mode:screen}}
*{box-sizing:border-box}
body{margin:0 auto;max-width:66rem;padding:1.75rem 1.25rem 4rem;background:var(--paper);color:var(--ink);font:1rem/1.5 system-ui,sans-serif;font-variant-numeric:tabular-nums;overflow-wrap:break-word}
h1{font-size:1.7rem;line-height:1.2;margin:0 0 .5rem}
h2{font-size:1.15rem;margin:0 0 .75rem;display:flex;gap:.7rem}
main{counter-reset:section}
section{counter-increment:section}
h2::before{content:counter(section);color:var(--mark)}
section:has(>div):not(:has(>div:not(:empty))){display:none}
h3{font-size:1rem;margin:1.4rem 0 .4rem}
p{margin:.5rem 0;max-width:46rem}
header{border-top:3px solid var(--mark);padding-top:1rem}
section{border-top:1px solid var(--edge);padding:1.1rem 0 .5rem;margin-top:1.4rem}
a{color:var(--mark)}
:focus-visible{outline:2px solid var(--mark);outline-offset:2px}
.skip{position:absolute;left:-99rem}
.skip:focus{left:1rem;top:.5rem;background:var(--paper);padding:.3rem .6rem}
.facts{display:grid;grid-template-columns:repeat(auto-fill,minmax(11rem,1fr));margin:1rem 0;border-top:1px solid var(--edge);border-left:1px solid var(--edge)}
.facts div{border:solid var(--edge);border-width:0 1px 1px 0;padding:.3rem .6rem}
dt{color:var(--quiet);font-size:.8rem}
dd{margin:0}
.facts .paper dd{min-height:1.5em}
.patterns{display:flex;flex-wrap:wrap;gap:0 3rem;margin-bottom:.8rem}
.pattern{min-width:0;break-inside:avoid}
.pattern h3{margin-top:.6rem}
.quiet,.usual,figcaption,caption{color:var(--quiet)}
.clip{display:flex;flex-wrap:wrap;gap:.4rem 1rem;align-items:center;margin:1rem 0}
audio{max-width:100%;width:26rem}
.faults{font-weight:600;border-left:4px solid var(--mark);padding-left:.7rem}
figure{margin:0 0 1.4rem}
figcaption{font-size:.9rem;margin-top:.35rem;max-width:46rem}
figcaption b{color:var(--ink);font-weight:600}
.wide{overflow-x:auto}
figure svg,figure img{display:block;max-width:100%;height:auto}
table{border-collapse:collapse;width:100%;font-size:.93rem}
caption{text-align:left;padding:.2rem 0 .35rem;font-size:.9rem}
th,td{text-align:left;vertical-align:top;padding:.32rem .7rem .32rem 0;border-bottom:1px solid var(--grid)}
thead th{border-bottom:1px solid var(--ink);font-size:.82rem;vertical-align:bottom}
tbody th{font-weight:600}
.box,.no-column{width:2.2rem}
.turned tbody th{width:12rem}
.volts td{white-space:nowrap}
input[type=checkbox]{width:1.05rem;height:1.05rem;margin:.2rem 0 0;accent-color:var(--mark)}
tr:has(:checked) th,tr:has(:checked) td{color:var(--quiet)}
.settings{list-style:none;margin:0;padding:0;display:flex;flex-wrap:wrap;gap:.1rem 1.3rem}
.settings li{break-inside:avoid}
.usual{font-weight:400}
.dial{border:1px solid var(--edge);border-radius:2px;padding:0 .3rem;white-space:nowrap}
.under{display:block;font-weight:400;font-size:.85rem;color:var(--quiet)}
pre{font:.92rem/1.45 ui-monospace,"Liberation Mono",monospace;margin:.3rem 0;white-space:pre}
.legend{display:inline-block;width:2.6rem;height:.75rem;vertical-align:middle;margin-right:.4rem}
.severity{font-weight:600}
.fault .severity{color:var(--mark)}
@media screen and (max-width:46rem){figure svg,figure img{max-width:none}body{padding:1.1rem .9rem 3rem}.volts{min-width:44rem}.cables{min-width:30rem}
.told th,.told td,.turned th{overflow-wrap:anywhere}
.turned,.turned tbody{display:block}.turned tbody th{width:auto}.turned thead{display:none}.turned tr{display:grid;grid-template-columns:2.2rem 1fr}.turned .box{grid-row:span 2}.turned tbody th{border:0;padding-bottom:0}.turned td:last-child{grid-column:2}
.told,.told tbody,.told tr,.told th,.told td{display:block}.told thead{display:none}.told tbody td{border:0;padding:.15rem 0}.told tbody td:last-child{border-bottom:1px solid var(--grid);padding-bottom:.6rem}.told tbody th{border:0;padding-bottom:0}}
@page{margin:15mm 14mm}
@media print{
:root{color-scheme:light;font-size:9.5pt;${LIGHT_COLOURS}}
body{max-width:none;padding:0;line-height:1.4}
h1{font-size:17pt}
h2{font-size:12pt}
.skip,.clip{display:none}
section{margin-top:.8rem;padding-top:.6rem}
h2,h3,caption{break-after:avoid}
figure,tr,li,.facts,section:last-of-type,table:not(:has(tbody tr:nth-child(12))){break-inside:avoid}
table{font-size:8.5pt;line-height:1.3}
th,td{padding:1.1mm 2.5mm 1.1mm 0}
.volts td{white-space:normal}
.turned tbody th{width:34mm}
.under{font-size:7.5pt}
thead{display:table-header-group}
.wide{overflow:visible}
figure svg{max-height:225mm;max-width:100%}
/* So that the whole patch is on the first page. */
[data-island=diagram] figure:first-of-type svg{max-height:158mm}
figure img{max-height:225mm;max-width:100%;width:auto}
input[type=checkbox]{appearance:none;width:3.4mm;height:3.4mm;margin:0;border:1px solid #1b2126;border-radius:0;background:#fff}
a{color:inherit;text-decoration:none}
tr:has(:checked) th,tr:has(:checked) td{color:inherit}
}
@media not print{.paper{display:none}}
`;

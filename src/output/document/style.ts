/**
 * The look that every page has: ruled paper, light, dark and printed, figures with captions, and one
 * accent. What a page adds to it is its own business; its colours, letters and tables are these.
 */

import { type ChartColours, colourVariables, DARK, PRINT } from '../chart/colours.ts';

/** The page's own colours beside those of the charts. */
export const PAGE_COLOURS = {
  light: {
    paper: PRINT.paper,
    ink: PRINT.ink,
    quiet: '#56616b',
    edge: '#7a858e',
    mark: '#00568a',
    fault: '#a3201a',
  },
  dark: {
    paper: DARK.paper,
    ink: DARK.ink,
    quiet: '#a3aeb8',
    edge: '#77838d',
    mark: '#7cc0ee',
    fault: '#ff9385',
  },
};

function declared(
  charts: ChartColours,
  { quiet, edge, mark, fault }: typeof PAGE_COLOURS.light,
): string {
  return `${colourVariables(charts)};--quiet:${quiet};--edge:${edge};--mark:${mark};--fault:${fault}`;
}

const LIGHT = declared(PRINT, PAGE_COLOURS.light);

/** The style sheet; no text of a patch is in it. */
export const DOCUMENT_STYLE = `:root{color-scheme:light dark;${LIGHT}}
@media screen and (prefers-color-scheme:dark){:root{${declared(DARK, PAGE_COLOURS.dark)}}.spectrogram{filter:invert(1)}}
@media screen and (forced-colors:active){:root{--paper:Canvas;--ink:CanvasText;--quiet:CanvasText}}
*{box-sizing:border-box}
body{margin:0 auto;max-width:66rem;padding:1.75rem 1.25rem 4rem;background:var(--paper);color:var(--ink);font:1rem/1.5 system-ui,sans-serif;font-variant-numeric:tabular-nums;overflow-wrap:break-word}
h1{font-size:1.7rem;line-height:1.2;margin:0 0 .5rem}
h2{font-size:1.15rem;margin:0 0 .75rem;display:flex;gap:.7rem}
main{counter-reset:section}
section{counter-increment:section}
h2::before{content:counter(section);color:var(--mark)}
section:has(>div):not(:has(>div:not(:empty))){display:none}
h3{font-size:1rem;margin:1.4rem 0 .4rem}
p{margin:.5rem 0;max-width:46rem;text-wrap:pretty}
header{border-top:3px solid var(--mark);padding-top:1rem}
section{border-top:1px solid var(--edge);padding:1.1rem 0 .5rem;margin-top:1.4rem}
a{color:var(--mark)}
:focus-visible{outline:2px solid var(--mark);outline-offset:2px}
.skip{position:absolute;left:-99rem}
.skip:focus{left:1rem;top:.5rem;background:var(--paper);padding:.3rem .6rem}
.quiet,figcaption,caption{color:var(--quiet)}
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
pre{font:.92rem/1.45 ui-monospace,"Liberation Mono",monospace;margin:.3rem 0;white-space:pre}
@media screen and (max-width:46rem){figure svg,figure img{max-width:none}body{padding:1.1rem .9rem 3rem}}
@page{margin:15mm 14mm;font:8pt system-ui,sans-serif;color:#56616b;@bottom-right{content:counter(page) " of " counter(pages)}}
@media print{
:root{color-scheme:light;font-size:9.5pt;${LIGHT}}
body{max-width:none;padding:0;line-height:1.4}
h1{font-size:17pt}
h2{font-size:12pt}
.skip{display:none}
section{margin-top:.8rem;padding-top:.6rem}
h2,h3,caption{break-after:avoid}
figure,tr,li,table:not(:has(tbody tr:nth-child(12))){break-inside:avoid}
table{font-size:8.5pt;line-height:1.3}
th,td{padding:1.1mm 2.5mm 1.1mm 0}
thead{display:table-header-group}
.wide{overflow:visible}
pre{white-space:pre-wrap;overflow-wrap:anywhere}
figure svg{max-height:225mm;max-width:100%}
figure img{max-height:225mm;max-width:100%;width:auto}
a{color:inherit;text-decoration:none}
}
`;

/** The look of a sheet, beside that of every page: its facts, its lists to tick, its patterns. */

import { TABLE_STYLE } from './pattern-table.ts';
import { SIGN_STYLE } from './step-sign.ts';

/** The style sheet; no text of a patch is in it. */
export const SHEET_STYLE = `${SIGN_STYLE}${TABLE_STYLE}@media screen and (prefers-color-scheme:dark){.score{filter:invert(1) hue-rotate(180deg);mix-blend-mode:screen}}
.facts{display:grid;grid-template-columns:repeat(auto-fit,minmax(11rem,1fr));margin:1rem 0;border-top:1px solid var(--edge);border-left:1px solid var(--edge)}
.facts div{border:solid var(--edge);border-width:0 1px 1px 0;padding:.3rem .6rem}
dt{color:var(--quiet);font-size:.8rem}
dd{margin:0}
.facts .paper dd{min-height:1.5em}
.patterns{display:flex;flex-wrap:wrap;gap:0 3rem;margin-bottom:.8rem}
.pattern{min-width:0;break-inside:avoid}
.pattern h3{margin-top:.6rem}
.own{margin:.1rem 0 .4rem}
ul.own{padding-left:1.4rem;overflow-wrap:anywhere}
.fold>summary{cursor:pointer;padding:.3rem 0;min-height:2.1rem;box-sizing:border-box;border-bottom:1px solid var(--grid)}
.fold[open]>summary{margin-bottom:.4rem}
.cable-group h3{margin-top:.4rem}
@media screen and (max-width:59.99rem){.cable-group+.cable-group{margin-top:1.4rem}}
.clip{display:flex;flex-wrap:wrap;gap:.4rem 1rem;align-items:center;margin:1rem 0}
audio{max-width:100%;width:26rem}
.faults{font-weight:600;border-left:4px solid var(--fault);padding-left:.7rem}
.box,.no-column{width:2.2rem}
.turned tbody th{width:12rem}
.volts td{white-space:nowrap}
input[type=checkbox]{width:1.05rem;height:1.05rem;margin:.2rem 0 0;accent-color:var(--mark)}
tr:has(:checked) th,tr:has(:checked) td{color:var(--quiet)}
.settings{list-style:none;margin:0;padding:0;display:flex;flex-wrap:wrap;gap:.1rem 1.3rem}
.settings li{break-inside:avoid}
.usual{font-weight:400;color:var(--quiet)}
.dial{border:1px solid var(--edge);border-radius:2px;padding:0 .3rem;white-space:nowrap}
.under{display:block;font-weight:400;font-size:.85rem;color:var(--quiet)}
.legend{display:inline-block;width:2.6rem;height:.75rem;vertical-align:middle;margin-right:.4rem}
.severity{font-weight:600}
.fault .severity{color:var(--fault)}
@media screen and (max-width:46rem){.volts{min-width:44rem}.cables{min-width:30rem}
.told th,.told td,.turned th{overflow-wrap:anywhere}
.turned,.turned tbody{display:block}.turned tbody th{width:auto}.turned thead{display:none}.turned tr{display:grid;grid-template-columns:2.2rem 1fr}.turned .box{grid-row:span 2}.turned tbody th{border:0;padding-bottom:0}.turned td:last-child{grid-column:2}
.told,.told tbody,.told tr,.told th,.told td{display:block}.told thead{display:none}.told tbody td{border:0;padding:.15rem 0}.told tbody td:last-child{border-bottom:1px solid var(--grid);padding-bottom:.6rem}.told tbody th{border:0;padding-bottom:0}}
@media screen and (min-width:60rem){[data-part=cables]{display:grid;grid-template-columns:repeat(2,minmax(0,1fr));gap:0 2.5rem;align-items:start}.cable-group:first-child{grid-row:span 2}}
@media not print{.paper{display:none}}
`;

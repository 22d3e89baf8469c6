/** The look of the interactive parts of a sheet, besides that of the pieces that every page has. */

import { PATTERN_STYLE } from './pattern/style.ts';
import { VOICES_STYLE } from './voices/style.ts';

export const SHEET_UI_STYLE = `${PATTERN_STYLE}h2.plain{margin:1.2rem 0 .4rem}
h2.plain::before{content:none}
.problems{border:0;margin:0;padding:0}
.told-here{border:1px solid var(--edge);border-left:4px solid var(--mark);padding:.5rem .9rem;margin:0 0 1rem}
.told-here pre{overflow-x:auto;padding:.2rem 0}
.strip .where{width:17rem;white-space:nowrap;overflow:hidden;text-overflow:ellipsis}
.stretches button{padding:.1rem .5rem;min-height:1.6rem}
.edits{display:flex;gap:.4rem;border:0;margin:0;padding:0;min-width:0}
.edits .due{border-color:var(--mark);color:var(--mark);font-weight:600}
/* As wide before the song is known as after. */
.desk .controls select{width:10rem;min-width:0}
.save-as{display:flex;flex-wrap:wrap;gap:.4rem;align-items:center}
.notices .listening{display:flex;gap:.6rem;align-items:baseline;flex-wrap:wrap}
.notices button{padding:.05rem .5rem}
.notices{position:absolute;top:100%;right:0;display:flex;flex-direction:column;align-items:flex-end;max-width:100%}
.notices>*{background:var(--paper);border:1px solid var(--ink);border-top:0;padding:.15rem .7rem;font-size:.9rem;max-width:100%}
.notices a{font-weight:600}
@media screen{.module{content-visibility:auto;contain-intrinsic-size:auto 2.4rem}}
[data-moving]{counter-reset:figure}
[data-moving] figure:not(.passing){counter-increment:figure}
[data-moving] figcaption>b{display:none}
[data-moving] figure:not(.passing) figcaption::before{content:"Figure " counter(figure) ". ";font-weight:600;color:var(--ink)}
[data-jack]{cursor:pointer}
@media screen{[data-jack]:hover text,.probed text{text-decoration:underline;fill:var(--mark)}
.probed text{font-weight:700}
.wire[data-lit] .line{stroke-width:4}
svg:has(.wire[data-lit]) .wire:not([data-lit]){opacity:.3}
[data-jack][data-lit] text{font-weight:700;text-decoration:underline}}
.timed{position:relative;width:max-content;max-width:100%;overflow:hidden}
.module{border-bottom:1px solid var(--grid)}
.module>summary{padding:.4rem 0;min-height:2.4rem;box-sizing:border-box;cursor:pointer}
.module[open]{padding-bottom:.8rem}
.module[open]>summary{border-bottom:1px solid var(--grid)}
.brief{color:var(--quiet);font-size:.9rem}
.brief span{margin-left:.9rem;white-space:nowrap}
.brief b{font-weight:400;color:var(--ink)}
.set{table-layout:fixed}
.set th:first-child{width:9rem}
.set tbody th:first-child{font-weight:400}
.set tbody .given th:first-child{font-weight:600}
.set th:nth-child(2){width:9.5rem}
.set th:last-child{width:8.3rem}
.set thead th:nth-child(4):not(:last-child){width:6rem}
.set tr:has(:checked) th,.set tr:has(:checked) td{color:inherit}
.set tr:has(:checked) td.quiet{color:var(--quiet)}
.set td,.set th{vertical-align:top;line-height:1.75rem;padding:.2rem .7rem .2rem 0}
.set .typed,.set select{line-height:1.4}
.typed{width:8.4rem;padding:.1rem .4rem}
.typed.long{width:100%;max-width:32rem}
.typed[data-draft]{border-style:dashed;border-color:var(--mark)}
.typed[aria-invalid=true]{border:2px solid var(--mark)}
.refusal{display:block;color:var(--ink);font-size:.88rem;border-left:3px solid var(--mark);padding-left:.5rem;margin:.25rem 0}
td .refusal{line-height:1.45;width:max-content;max-width:34rem;white-space:pre-wrap}
.second{display:block;font-size:.82rem;line-height:1.3;color:var(--quiet)}
.set select{padding:.1rem .4rem;max-width:100%}
.scale{position:relative;display:block;max-width:30rem;padding:.35rem 0 .1rem}
.scale input{width:100%;margin:0;display:block;height:1rem}
.ends{display:flex;margin-top:.4rem;justify-content:space-between;font-size:.75rem;line-height:1;color:var(--quiet)}
.tick{position:absolute;top:1.35rem;left:calc(8px + var(--at,0)*(100% - 16px));height:.25rem;border-left:1px solid var(--quiet)}
.set tr:has(.refusal) .ends{visibility:hidden}
.meant{display:block;margin:.2rem 0;padding:.05rem .6rem}
.set .back{font-size:.85rem;line-height:1.35;padding:.05rem .4rem;white-space:normal;text-align:left;color:var(--ink)}
.usual-mark{position:absolute;top:1.35rem;left:calc(8px + var(--at,0)*(100% - 16px));width:0;border:solid transparent;border-width:0 4px 5px;border-bottom-color:var(--quiet);transform:translateX(-4px)}
.wide{position:relative}
.lines{margin:.5rem 0}
.lines summary{cursor:pointer;color:var(--quiet)}
.tab-line{display:grid;grid-template-columns:7rem 1fr;gap:.2rem .6rem;align-items:center;margin:.3rem 0}
.tab-line .refusal{grid-column:2}
.tab-line .typed{font-family:ui-monospace,"Liberation Mono",monospace}
.bank th,.bank td{vertical-align:middle}
.bank .figure{white-space:nowrap}
.bank [aria-current]{box-shadow:inset 3px 0 var(--mark)}
.bank td:first-child{padding-left:.7rem}
[data-island=diagram][aria-busy] svg{opacity:.35}
.undrawn{fill:var(--quiet)}
@media screen and (max-width:46rem){.timed{max-width:none}
.edits{flex:1;justify-content:flex-end}
.brief{display:none}
.set,.set tbody,.set tr,.set td,.set th{display:block;width:auto}
.set thead{display:none}
.set tr{border-bottom:1px solid var(--grid);padding:.4rem 0;display:grid;grid-template-columns:1fr auto;gap:.1rem .7rem;align-items:center}
.set th,.set td{border:0;padding:0}
.set th:first-child{width:auto;overflow-wrap:anywhere}
.set .scale-cell,.set .long{grid-column:1/-1}
.set td:has(.long){grid-column:1/-1}
.tab-line{grid-template-columns:1fr}
.tab-line .refusal{grid-column:1}
.set td:has(.refusal){grid-column:1/-1}
td .refusal{width:auto}
.set .status:not(:has(button)){display:none}
.set .typed{width:9rem}
.set .typed.long{width:100%}}
.verdict{flex:1 1 100%;border:0;margin:0;padding:0;display:flex;gap:.2rem .9rem;align-items:baseline;font-size:.9rem;min-width:0}
.verdict .file{font-weight:600;white-space:nowrap;overflow:hidden;text-overflow:ellipsis;max-width:40%}
.verdict [data-part]{flex:1;min-width:0}
.verdict p{margin:0;max-width:none;white-space:nowrap;overflow:hidden;text-overflow:ellipsis}
[hidden]{display:none}
.verdict .told-now{flex:1;min-width:0}
.verdict button{padding:0 .5rem;line-height:1.35}
.sign{display:inline-block;min-width:1.2em;line-height:1.2;margin-right:.4rem;text-align:center;font-weight:700;border:1px solid var(--fault);color:var(--fault)}
.sign::before{content:"!"}
.sign.fault{background:var(--fault);color:var(--paper)}
@media (forced-colors:active){.sign{forced-color-adjust:none;color:CanvasText;border-color:CanvasText}
.sign.fault{background:CanvasText;color:Canvas}
.usual-mark{forced-color-adjust:none;border-bottom-color:CanvasText}}
.fault>.word,.caution>.word{color:var(--fault);margin:0 .3rem}
.told-at{border-left:4px solid var(--fault);padding-left:.7rem;line-height:1.45;max-width:44rem}
.told-at.caution{border-left-style:double}
.told-at p{margin:.15rem 0}
.mending code{display:block;overflow-wrap:anywhere}
.set .told-row td{line-height:1.45}
tr[data-finding] th::after{content:" ! " attr(data-finding)}
tr[data-finding]>*{box-shadow:inset 0 -2px var(--fault)}
[data-jack][data-finding] text{fill:var(--fault);font-weight:700}
nav{display:flex;flex-wrap:wrap;gap:.2rem .95rem;font-size:.9rem;padding:.4rem 0}
.ways nav{flex:1}
.about{border-top:1px solid var(--edge);margin-top:1.4rem;padding-top:.6rem}
.column:first-child>section:first-child{border-top:0;margin-top:0}
@media screen{.about [data-part=summary]{display:none}[data-reading] .columns{visibility:hidden}}
@media screen and (min-width:68.75rem){body{max-width:100rem}
.columns{display:grid;grid-template-columns:minmax(0,1fr) minmax(0,1fr);gap:0 2rem;border-top:1px solid var(--edge)}
.column>section:first-child{border-top:0;margin-top:0}
.column [data-island=sound] figure svg,.column figure img{max-width:none}
.column{max-height:calc(100vh - 6.5rem);overflow-y:auto;overscroll-behavior:auto;padding:0 .6rem 0 4px;margin-left:-4px}
/* Versions beside what is set once in a while, and what compares them below both. */
.lead{display:grid;grid-template:auto auto auto 1fr/minmax(0,1fr) minmax(0,1fr);gap:0 2rem;align-items:start}
.lead>[data-island=versions],[data-island=versions]>.on-screen{display:contents}
.lead>[data-island=play]{grid-area:1/1/5/2}
[data-island=versions]>.on-screen>:not(details),[data-island=versions] h2+details{grid-column:2}
.desk>.quiet,.desk .controls,[data-island=versions] .controls{font-size:.93rem}
.desk .controls{gap:.4rem .8rem}
.lead h2.plain{margin:.5rem 0 .9rem}
[data-island=versions]>.on-screen>:is(form,p){margin-block:0 .6rem}
.ways{display:flex;gap:0 2rem;align-items:center}}
/* Between one column and two the strip has two rows, both as wide as the page. */
@media screen and (min-width:46.01rem) and (max-width:64rem) and (min-height:32.01rem){.strip .edits{margin-left:auto}}
@media screen and (max-width:30rem){.strip .volume{flex:1 1 5rem;order:0;min-width:0}.strip .volume input{min-width:0}
.strip .volume output{position:absolute;width:1px;height:1px;overflow:hidden;clip-path:inset(50%)}
.strip .edits{flex:none}
.verdict{flex-wrap:wrap}.verdict [data-part]{min-height:1.5em}.verdict .file{flex:1;max-width:none}.verdict [data-part],.verdict .told-now{flex-basis:100%;order:1}}
${VOICES_STYLE}@media print{.desk,.problems,nav{display:none}.columns,.column,.about{display:contents}}
`;

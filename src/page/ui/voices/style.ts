/** The look of the voices, the search and the folds. */

export const VOICES_STYLE = `.voices th,.voices td{vertical-align:middle;padding:.2rem .7rem .2rem 0}
.voices th{white-space:nowrap}
.voices .count{text-align:right;padding-right:1.2rem;width:4.4rem}
.voices .chapter{border:0;background:none;padding:.1rem .35rem;font-weight:600;text-align:left;text-decoration:underline;text-underline-offset:.2em;text-decoration-color:var(--edge)}
.voices tr:has(.chapter[aria-pressed=true]){box-shadow:inset 3px 0 var(--mark)}
.voices .chapter[aria-pressed=true]{box-shadow:none;text-decoration-color:var(--mark);text-decoration-thickness:2px}
.voices td:last-child{padding-right:0}
.pair{display:inline-flex;gap:.25rem;align-items:center;margin-right:.7rem;white-space:nowrap}
.pair button,.place{padding:.05rem .5rem;line-height:1.4;font-size:.9rem;min-height:1.7rem}
.pair{margin-block:.1rem}
.pair .stroke{font-family:ui-monospace,"Liberation Mono",monospace;min-width:1.9rem}
.chapter-now p{margin:.35rem 0}
.chapter-now .place{margin-left:.4rem}
.striking p{margin:.3rem 0;font-size:.9rem}
.key-of{white-space:nowrap;margin-right:.5rem}
.find{position:relative;padding-bottom:.5rem}
.find input{width:19rem;max-width:100%;margin-left:.3rem}
[data-island=find]{min-height:2.7rem}
.found{position:absolute;left:0;top:100%;z-index:1;width:32rem;max-width:calc(100vw - 2rem);max-height:60vh;overflow-y:auto;background:var(--paper);border:1px solid var(--ink);padding:.4rem .7rem}
.found p{margin:0 0 .3rem}
.found ul{list-style:none;margin:0;padding:0}
.found button{display:block;width:100%;text-align:left;border:0;border-bottom:1px solid var(--grid);padding:.25rem 0;overflow-wrap:anywhere}
.voice{border-bottom:1px solid var(--edge)}
.voice>summary{padding:.4rem 0;min-height:2.4rem;box-sizing:border-box;cursor:pointer}
.voice>.module{margin-left:1.1rem}
.voice[open]>summary{border-bottom:1px solid var(--grid)}
.block{cursor:pointer}
.block[data-aside]{opacity:.35}
.block:hover text,[data-shown]:not(.jack) text{fill:var(--mark);text-decoration:underline}
[data-shown]>rect{stroke:var(--mark);stroke-width:2}
@media screen and (max-width:46rem){.voices,.voices tbody{display:block}.voices thead{display:none}.voices tr{display:flex;flex-wrap:wrap;gap:.2rem .9rem;align-items:center;border-bottom:1px solid var(--grid);padding:.35rem 0 .35rem .4rem}.voices th,.voices td,.voices .count{border:0;padding:0;width:auto}.voices th{flex-basis:30%}.count::after{content:" " attr(data-of);color:var(--quiet)}.voices td:empty{display:none}.find,.find input{width:100%}.find input{margin:0}.pair button{min-height:2rem}}
@media print{section:has(>[data-island=voices]),[data-island=find]{display:none}}
`;

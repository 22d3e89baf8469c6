/** The look of patterns and song as they are edited. */

export const PATTERN_STYLE = `.pattern-head{display:flex;flex-wrap:wrap;gap:.1rem .8rem;align-items:baseline;margin:.9rem 0 .2rem}
.pattern-head h3,.pattern-head .own{margin:0}
.alone{font-size:.85rem;padding:.1rem .5rem;min-height:1.5rem}
[aria-pressed=true].alone,.entry [aria-pressed=true]{border-color:var(--mark);color:var(--mark);font-weight:600}
.pattern>.wide{padding-bottom:.2rem}
.tab-place{position:relative;width:max-content}
.tab{width:auto;border-collapse:separate;border-spacing:0;font:1rem/1.3 system-ui,sans-serif}
.tab th,.tab td{padding:0;border-bottom:1px solid var(--faint);text-align:center;vertical-align:bottom}
.tab thead th{font-size:.78rem;font-weight:400;color:var(--quiet);border-bottom:0;text-align:left;padding-left:.25rem}
.tab th:first-child{position:sticky;left:0;z-index:2;background:var(--paper)}
.tab tbody th{text-align:left;padding:0 .9rem .1rem 0;font-weight:600;white-space:nowrap;vertical-align:bottom}
.tab td,.tab thead th:not(:first-child){box-sizing:border-box;width:1.55rem;min-width:1.55rem}
.tab td{height:1.95rem;cursor:pointer}
.tab td.again{cursor:default}
.tab .step{pointer-events:none}
.tab .beat{border-left:1px solid var(--faint)}
.tab .bar{border-left:1px solid var(--ink)}
.tab .end{border-left:2px solid var(--ink)}
.tab td:hover:not(.again){box-shadow:inset 0 0 0 1px var(--faint)}
.tab td:focus-visible{outline-offset:-2px}
.now-here{position:absolute;top:0;bottom:0;left:0;z-index:1;pointer-events:none;border-left:2px solid var(--mark);background:linear-gradient(to right,var(--mark),transparent);opacity:.3}
.step-says{display:flex;flex-wrap:wrap;gap:.2rem .9rem;align-items:center;min-height:2rem;font-size:.9rem}
.says{display:flex;flex-wrap:wrap;gap:.3rem .9rem;align-items:center}
.saying{display:inline-flex;flex-wrap:wrap;gap:.35rem;align-items:center;font-size:.9rem}
.typed.short{width:7rem;min-height:1.6rem}
.line-says{width:auto}
.line-says td,.line-says th{padding:.15rem .6rem .15rem 0;vertical-align:middle}
.lines>.says{margin:.4rem 0}
.folds{display:flex;flex-wrap:wrap;gap:0 1.4rem}
.folds .lines{margin:.2rem 0}
.folds .lines[open]{flex:1 1 100%;min-width:0}
.step-says .typed.short{width:5rem}
.controls label,.controls select{max-width:100%}
.sign-legend{display:flex;flex-wrap:wrap;gap:.2rem 1.2rem;list-style:none;margin:.8rem 0 .2rem;padding:0}
.sign-legend li{display:flex;align-items:flex-end;gap:.3rem}
.sign-legend .step{width:1.5rem}
.song h3{margin:.2rem 0 .3rem}
.song-desk{display:grid;grid-template-columns:minmax(12rem,1fr) minmax(0,1.1fr);gap:.3rem 1.4rem;align-items:start}
.entries{max-height:7.2rem;overflow-y:auto;border-top:1px solid var(--edge);border-bottom:1px solid var(--edge)}
.entries [role=option]{display:flex;gap:.8rem;min-height:1.75rem;align-items:center;padding:0 .5rem 0 .3rem;border-bottom:1px solid var(--grid);border-left:3px solid transparent;cursor:pointer}
.entries [aria-selected=true]{border-left-color:var(--mark);font-weight:600}
.entries [data-now]{background:linear-gradient(to right,var(--grid),transparent)}
.entries [data-now]::after{content:"plays";margin-left:auto;font-size:.8rem;font-weight:400;color:var(--quiet)}
.entries .number{min-width:1.6em;text-align:right}
.entries .number+.number{min-width:4.2em;text-align:left;font-weight:400}
.entry{border:0;margin:0;padding:0;min-width:0}
.entry .controls{margin:0;gap:.3rem .5rem}
.entry .controls button,.entry .controls select,.from-bar .typed{font-size:.88rem;padding:.12rem .5rem;min-height:1.6rem}
.entry .controls select{min-width:7rem}
.entry .typed.short{width:3.2rem}
.entry .lines .typed.short{width:6.5rem}
.from-bar{margin:.4rem 0;font-size:.9rem}
.from-bar .typed.short{width:4rem}
@media screen{.pattern{content-visibility:auto;contain-intrinsic-size:auto 18rem}}
@media screen and (max-width:46rem){.tab tbody th{max-width:7rem;white-space:normal;overflow-wrap:anywhere}.song-desk{grid-template-columns:minmax(0,1fr)}}
@media (forced-colors:active){.now-here{opacity:1;background:none}
.entries [role=option]{border-left-color:Canvas}
.entries [aria-selected=true]{border-left-color:Highlight}}
`;

/** The look of buttons, sliders, fields and the strip, on every page. */

export const PIECES_STYLE = `html{scroll-padding-top:9rem}
button,select,input,.typed{font:inherit;color:inherit;background:var(--paper);border:1px solid var(--edge);border-radius:2px;padding:.25rem .6rem}
::placeholder{color:var(--quiet);opacity:1}
button{cursor:pointer}
button:is(:disabled,[aria-disabled=true]){color:var(--quiet);border-color:var(--grid);cursor:default}
button[aria-pressed=true]{box-shadow:inset 0 -2px var(--mark)}
/* Where no shadow and no colour of the page's own is drawn. */
@media (forced-colors:active){button[aria-pressed][aria-pressed=true]{forced-color-adjust:none;background:Highlight;color:HighlightText}}
input[type=checkbox]{padding:0;vertical-align:-.15em}
input[type=range]{padding:0;border:0;background:none;accent-color:var(--mark)}
kbd{font:inherit;font-size:.85em;border:1px solid var(--edge);border-radius:2px;padding:0 .3rem}
.unseen{position:absolute;width:1px;height:1px;overflow:hidden;clip-path:inset(50%);white-space:nowrap}
.controls select{min-width:14rem;max-width:100%}
.controls label{max-width:100%}
.controls{display:flex;flex-wrap:wrap;gap:.5rem .9rem;align-items:center;margin:.6rem 0;max-width:none}
.strip{position:sticky;top:0;z-index:2;background:var(--paper);border:solid var(--ink);border-width:1px 0;margin:1rem 0 0;padding:.45rem 0;display:flex;flex-wrap:wrap;gap:.4rem .9rem;align-items:center}
.strip-place{display:contents}
.strip-place+main>section:first-child{border-top:0;margin-top:.4rem}
.play{min-width:4.6rem;font-weight:600}
.waveform{position:relative;flex:1 1 16rem;height:3rem;overflow:hidden;cursor:text;touch-action:none;outline-offset:-2px}
.waveform svg{display:block;width:100%;height:100%}
.waveform path{vector-effect:non-scaling-stroke;fill:none;stroke:var(--grid)}
.waveform .bar{stroke:var(--faint)}
.waveform .outline{fill:var(--series-1);stroke:var(--series-1);stroke-width:.6;stroke-linejoin:round}
.now{position:absolute;inset:0;border-left:2px solid var(--mark);pointer-events:none;will-change:transform}
.where{font-size:.9rem;width:9.4rem;height:1.5em;contain:strict}
.volume{display:flex;align-items:center;gap:.4rem;font-size:.9rem}
.volume input{width:7rem}
.volume output{min-width:3.6rem}
.acts{white-space:nowrap}
.acts button{margin-right:.4rem;padding:.1rem .5rem}
.message{min-height:1.5em;font-weight:600}
@media screen and (max-width:46rem){
.strip{gap:.35rem .6rem}
.waveform{flex-basis:100%;order:-1;height:2.2rem}
.where{display:none}
.play{min-width:0}
.strip button{font-size:.9rem;padding:.25rem .5rem}
.volume{flex:1 1 9rem}
.volume span{position:absolute;width:1px;height:1px;overflow:hidden;clip-path:inset(50%)}
.volume input{flex:1}}
/* Of one that is low, or enlarged, what sounds and what is said of it have a row each. */
@media screen and (max-height:32rem) and (min-width:30rem){
.strip{margin-top:.4rem;padding:.2rem 0;gap:.15rem .6rem}
.strip .waveform{flex:1 1 6rem;order:0;height:2rem}
.strip .where{display:none}
.strip .volume span{position:absolute;width:1px;height:1px;overflow:hidden;clip-path:inset(50%)}
.strip .volume{flex:0 1 auto}
.strip .volume input{width:5rem;flex:none}
.strip .play{min-width:0}
.strip button{font-size:.9rem;padding:.2rem .5rem}}
@media print{.on-screen,.strip,.now{display:none}}
`;

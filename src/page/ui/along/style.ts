/** The look of patching along: large enough to be read with both hands at the cabinet. */

export const ALONG_STYLE = `.along{width:min(72rem,calc(100vw - 2rem));max-width:none;max-height:calc(100vh - 2rem);overflow-y:auto;margin:1rem auto auto;background:var(--paper);color:var(--ink);border:1px solid var(--ink);border-top:3px solid var(--mark);border-radius:0;padding:.8rem 1.4rem 0}
.along::backdrop{background:var(--ink);opacity:.35}
.along-head{display:flex;flex-wrap:wrap;gap:.4rem 1.2rem;align-items:center;border-bottom:1px solid var(--edge);padding-bottom:.6rem}
.along-head h2{margin:0}
.along-head>button:last-child{margin-left:auto}
.along-head select{max-width:24rem}
.along-cable{display:flex;gap:1.6rem;align-items:flex-start;border-bottom:1px solid var(--edge);padding:.8rem 0}
.along-number{font-size:2.6rem;line-height:1.1;font-weight:600;margin:0;min-width:3.4rem;color:var(--mark)}
.along-number span{display:block;font-size:1rem;font-weight:400}
.along-cable dl{flex:1;min-width:0;margin:0;display:grid;grid-template-columns:minmax(0,1fr) minmax(0,1fr);gap:.4rem 2rem}
.along-end dd{font-size:1.9rem;line-height:1.2;overflow-wrap:anywhere}
.along-end .under{font-size:.9rem;line-height:1.4}
.along-both{display:grid;grid-template-columns:minmax(0,1.2fr) minmax(0,1fr);gap:0 2rem}
.along-both h3{margin-top:.8rem}
.along-volts th{font-weight:400;width:11rem}
.along-volts td{font-size:1.25rem;font-weight:600}
.along-both .controls{margin:.4rem 0}
.along-acts{border:solid var(--edge);border-width:1px 0 0;margin:.4rem 0 0;padding:.6rem 0 .8rem;min-width:0;position:sticky;bottom:0;background:var(--paper)}
.along-keys{flex:1 1 20rem;margin:0;font-size:.9rem}
.along-acts button{font-size:1.1rem;padding:.4rem 1.1rem}
.along-acts .due{border-color:var(--mark);color:var(--mark);font-weight:600}
.along-suspects{border-top:1px solid var(--edge);margin:0;padding:.2rem 0 0}
.along-suspects th{font-weight:600;width:13rem}
.along-suspects tbody th{font-size:1.05rem}
.along-suspects h3{outline-offset:4px;scroll-margin-bottom:18rem}
.along-suspects details{margin:.2rem 0}
.along-suspects summary{cursor:pointer;color:var(--mark)}
.along .message{margin:.2rem 0}
@media screen and (max-width:46rem){
.along{width:100vw;height:100vh;max-height:none;margin:0;padding:.6rem .9rem 0;border-width:3px 0 0}
.along-cable{gap:.8rem}
.along-number{font-size:1.7rem;min-width:2.2rem}
.along-cable dl,.along-both{grid-template-columns:minmax(0,1fr)}
.along-end dd{font-size:1.35rem}
.along-volts th{width:8rem}
.along-volts td{font-size:1.05rem}
.along-head label{flex:1 1 100%;min-width:0}
.along-head select{max-width:100%;width:100%}
.along-keys{display:none}
.along-acts{gap:.4rem}
.along-acts button{padding:.35rem .7rem;font-size:1rem}
.along-suspects table,.along-suspects tbody,.along-suspects tr,.along-suspects th,.along-suspects td{display:block;width:auto}
.along-suspects thead{display:none}
.along-suspects th,.along-suspects td{border:0;padding:.1rem 0}
.along-suspects tr{border-bottom:1px solid var(--grid);padding:.5rem 0}}
@media screen{[data-island=along]{min-height:3.6rem}}
@media print{.along{display:none}}
`;

/** The look of kept versions. */

export const VERSIONS_STYLE = `.bank .typed{width:100%;min-width:7rem}
.bank td:nth-child(3){min-width:8.5rem}
.bank{font-size:.9rem}
.bank th,.bank td{padding-right:.5rem}
.bank td:last-child{padding-right:0}
.bank .acts button:last-child{margin-right:0}
@media screen and (min-width:46rem){.bank tbody th{min-width:7rem}}
.rename{font-size:.82rem;font-weight:400;padding:0 .35rem;margin-left:.4rem}
.moves{list-style:none;margin:0;padding:0;overflow-wrap:anywhere}
.figures td,.figures thead th:not(:first-child){text-align:right}
.figures td{white-space:nowrap}
.figures thead th:not(:first-child){min-width:5rem;max-width:9rem}
.figures tbody th{font-weight:400;min-width:7rem}
.lead summary{cursor:pointer;padding:.15rem 0}
.bank .under{display:inline;margin-left:.4rem}
.tell-apart fieldset{border:0;margin:.4rem 0;padding:0;min-width:0}
#blind-count,#blind-result{font-weight:600}
input[aria-invalid=true]{border:2px solid var(--mark)}
.lead .controls .quiet{font-size:.9rem}
@media screen and (max-width:46rem){
.lead figure svg{max-width:100%}
.bank,.bank tbody,.bank th,.bank td{display:block}
.bank thead{display:none}
.bank tr{display:grid;grid-template-columns:2rem 1fr auto;gap:.15rem .6rem;border-bottom:1px solid var(--grid);padding:.5rem 0}
.bank th,.bank td{border:0;padding:0}
.bank td:nth-child(3){grid-column:2/-1;grid-row:2}
.bank td:first-child{grid-row:1}
.bank .figure{grid-column:2;color:var(--quiet)}
.bank .acts{grid-column:3;grid-row:1}}
`;

/** The look of kept versions. */

export const VERSIONS_STYLE = `.bank .acts{white-space:normal}
.bank .typed{width:100%;min-width:7rem}
.moves{list-style:none;margin:0;padding:0;overflow-wrap:anywhere}
.figures td,.figures thead th:not(:first-child){text-align:right;white-space:nowrap}
.figures tbody th{font-weight:400}
.lead summary{cursor:pointer;padding:.15rem 0}
.tell-apart fieldset{border:0;margin:.4rem 0;padding:0;min-width:0}
#blind-count,#blind-result{font-weight:600}
input[aria-invalid=true]{border:2px solid var(--mark)}
.lead .controls .quiet{font-size:.9rem}
`;

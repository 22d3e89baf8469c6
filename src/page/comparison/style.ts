/** The look of the page to compare on, besides that of the pieces that every page has. */

export const COMPARISON_STYLE = `.sides{display:grid;grid-template-columns:repeat(auto-fit,minmax(18rem,1fr));gap:.6rem 1.5rem;margin:.6rem 0}
.side{display:flex;gap:.6rem;align-items:center}
.side label{font-weight:600}
.side select{flex:1;min-width:0}
.side button{white-space:nowrap}
#blind-count,#blind-result{font-weight:600}
fieldset{border:0;margin:0;padding:0;min-width:0}
input[aria-invalid=true]{border:2px solid var(--mark)}
.numbers :is(th,td){white-space:nowrap;vertical-align:middle}
.numbers :is(td,thead th:not(:first-child)):not(.acts,.name){text-align:right}
@media screen{.sounds th,.sounds td{border-bottom-color:var(--mark);box-shadow:inset 0 -1px var(--mark)}}
@media screen and (min-width:80rem){body{max-width:78rem}}
.numbers tbody :is(th,.name){white-space:normal;min-width:9rem}
.pictures figure svg{min-width:44rem}
[data-blind] section:has(.named){display:none}
[data-placeless] .now{visibility:hidden}
@media print{.pictures figure svg{min-width:0}.acts,section:has([data-island]){display:none}}
`;

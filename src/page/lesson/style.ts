/** The look of the page of a lesson, besides that of the pieces that every page has. */

export const LESSON_STYLE = `code{font:.92em ui-monospace,"Liberation Mono",monospace}
.overview{max-width:46rem;min-width:30rem}
.overview td:first-child{width:2.2rem}
.overview td{white-space:nowrap}
@media screen{.overview tr:has([aria-current]) :is(th,td){border-bottom-color:var(--mark);box-shadow:inset 0 -1px var(--mark)}}
.hear{margin:0 0 .6rem}
.hear button{min-width:5.2rem}
.spot{font-size:.9rem}
figure svg{min-width:40rem}
section{break-inside:avoid}
@media print{.hear,#files{display:none}figure svg{min-width:0;max-height:70mm;width:auto}}
`;

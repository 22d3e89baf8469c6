/**
 * How a sheet is printed: its sections in the order in which one patches, on as few pages as that allows, no
 * letter under 7 pt, and nothing cut that belongs together. Colours and margins are those of every document.
 */

/** The sections by the ids of their headings. */
export const PAPER_ORDER = [
  // Before the first plug goes in.
  'care',
  'diagram',
  'cables',
  'settings',
  'patterns',
  'sound',
  'score',
  'triggers',
  'findings',
] as const;

/** The style sheet; no text of a patch is in it. */
export const SHEET_PAPER_STYLE = `@page{margin:13mm 12mm}
@media print{
body{font-family:"Helvetica Neue",Arial,"Liberation Sans",sans-serif;line-height:1.3}
main{orphans:3;widows:3}
/* Folds are open, without their summary line where a heading says the same. */
.fold::details-content{content-visibility:visible;display:block}
.fold>summary{list-style:none;border:0;padding:.6mm 0 0;min-height:0;margin:0!important;break-after:avoid;font-size:8pt}
.fold>summary::-webkit-details-marker{display:none}
/* Cables stay in the order of the voices, whose names their jacks begin with. */
.fold>summary .quiet,[data-island=diagram] .fold>summary,.cable-group .fold>summary,.fold:has(.volts)>summary{display:none}
.cable-group .fold~.fold thead{display:none}
header{padding-top:.5rem}
section{margin-top:.5rem;padding-top:.4rem}
h2{margin-bottom:.4rem}
h3{margin:.5rem 0 .2rem}
p{margin:.25rem 0}
.clip{display:none}
.facts{margin:.4rem 0;break-inside:avoid;grid-template-columns:repeat(auto-fill,minmax(30mm,1fr))}
.facts div{padding:.1rem .4rem}
section[aria-labelledby=care],section:last-of-type{break-inside:avoid}
section[aria-labelledby=care] ul{margin:.1rem 0;columns:2}
figure{margin-bottom:.6rem}
figcaption{font-size:8pt;margin-top:.1rem;break-before:avoid;max-width:none}
/* Diagrams as large as their letters ask for, and in rows where they are folded. */
[data-island=diagram] svg{zoom:.892;max-height:280mm}
figure:has(svg.row){break-inside:auto}
figure:has(svg.row) svg:not(.row){display:none}
svg.row{break-inside:avoid}
figure:has(.drawn-before) .wide{display:none}
/* The smallest letters, of 10 px, are then 7 pt. */
[data-island=score] :is(svg,img){zoom:.94}
[data-island=sound] svg{zoom:.86}
[data-island=sound]{display:grid;grid-template-columns:repeat(2,minmax(0,1fr));gap:0 6mm;align-items:start}
[data-island=sound]>:not(figure){grid-column:1/-1}
/* The clip is to be heard, not read. */
[data-island=sound]>figure:first-child:nth-last-child(3){display:none}
table{font-size:7.2pt;line-height:1.15}
caption{font-size:8pt;padding:0 0 .1rem}
thead th{font-size:7.2pt}
th,td{padding:.4mm 2mm .4mm 0}
.cables{table-layout:fixed}
.cables .box{width:4.5mm}
.cables tbody th{width:7mm}
.cables td,.volts tbody :is(th,td){overflow-wrap:anywhere}
.volts td{white-space:normal}
.volts th,.volts td{padding-block:.12mm}
.told td,.told th{padding:.8mm 2mm .8mm 0}
[data-part=cables],[data-part=settings],[data-island=settings]:has(>table){columns:2;column-gap:7mm}
[data-part=cables] h3:first-child{margin-top:0}
/* A table as one flow of lines, that ends anywhere between two rows. */
section .cables.cables,section .turned.turned,[data-part=answers] table{break-inside:auto}
[data-part=answers]{columns:2;column-gap:7mm}
[data-part=answers] td:nth-child(n+2){white-space:nowrap}
[data-part=answers] :is(th,td){padding:.15mm 1mm .15mm 0}
[data-part=answers] ul,[data-part=settings]>p,[data-island=settings]>p{column-span:all}
.cables th,.cables td{padding:.35mm 1mm .35mm 0;vertical-align:middle}
.cables td:last-child,.cables th:last-child{display:none}
.no-column{width:7mm}
thead .box{font-size:0}
.turned,.turned tbody,.turned tr{display:block}
.turned thead{display:none}
.turned tr{border-bottom:1px solid var(--grid);padding:.35mm 0 .35mm 4.5mm;text-indent:-4.5mm;break-inside:avoid}
.turned th,.turned td{display:inline;border:0;padding:0}
.turned .box input{margin-right:1.6mm}
.turned .under,.turned ul,.turned li{display:inline}
.turned .under{font-size:inherit;font-style:italic;margin:0 .5em}
.turned li{margin-right:.9em}
.turned li>*{white-space:nowrap}
/* Side by side, as many as their lines leave room for. */
.patterns,[data-island=patterns]>div:not(.on-screen,.paper){display:flex;flex-wrap:wrap;gap:0 7mm}
[data-island=patterns]>div>p{flex:1 0 100%}
.pattern{break-inside:avoid;max-width:100%}
.pattern h3{margin-top:.3rem}
[data-island=patterns] p,[data-part=patterns] p{font-size:8pt;margin:.1rem 0}
.pattern h3{font-size:9pt}
pre{font-size:7.5pt;line-height:1.25;margin:.1rem 0}
ul{margin:.2rem 0;font-size:8pt;line-height:1.25}
[data-part=settings]>p{font-size:8pt}
.settings{font-size:inherit;line-height:inherit}
input[type=checkbox]{appearance:none;display:inline-block;width:2.9mm;height:2.9mm;margin:0;vertical-align:middle;border:1px solid #1b2126;border-radius:0;background:#fff}
input[type=checkbox]:checked::before{content:"";display:block;width:.8mm;height:1.7mm;margin:.1mm 0 0 .8mm;border:solid #1b2126;border-width:0 .35mm .35mm 0;transform:rotate(40deg)}
tr:has(:checked) th,tr:has(:checked) td{color:inherit}
}
`;

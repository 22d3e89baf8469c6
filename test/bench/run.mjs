/**
 * `npm run bench`: every speed or memory that Forehear claims, each as a ratio to a reference in the
 * same run. Times are processor time, the best of several turns taken alternately, so that the
 * load of other programs affects both sides alike. `npm run bench -- kit start` runs some of them only.
 */

const BENCHES = {
  'eight-voices': () => import('./eight-voices.mjs'),
  chromium: () => import('./chromium.mjs'),
  kit: () => import('./kit.mjs'),
  first: () => import('./first.mjs'),
  start: () => import('./start.mjs'),
  moves: () => import('./moves.mjs'),
  page: () => import('./page.mjs'),
  writing: () => import('./writing.mjs'),
  memory: () => import('./memory.mjs'),
  kinds: () => import('./kinds.mjs'),
  compare: () => import('./compare.mjs'),
  measure: () => import('./measure.mjs'),
  edges: () => import('./edges.mjs'),
  voices: () => import('./voices.mjs'),
  hits: () => import('./hits.mjs'),
  claims: () => import('./claims.mjs'),
  ruffs: () => import('./ruffs.mjs'),
  recorded: () => import('./recorded.mjs'),
  fit: () => import('./fit.mjs'),
  own: () => import('./own.mjs'),
  built: () => import('./built.mjs'),
  ranked: () => import('./ranked.mjs'),
};

const wanted = process.argv.slice(2);
const unknown = wanted.filter((name) => !Object.hasOwn(BENCHES, name));
if (unknown.length > 0) {
  console.error(
    `No bench "${unknown.join('", "')}". There are ${Object.keys(BENCHES).join(', ')}.`,
  );
  process.exit(2);
}
let missed = 0;
for (const [name, load] of Object.entries(BENCHES)) {
  if (wanted.length > 0 && !wanted.includes(name)) continue;
  const { title, run } = await load();
  console.log(`\n${title}`);
  for (const { what, value, unit, limit, atLeast } of await run()) {
    const figure = `${value.toFixed(value < 10 ? 2 : 0)}${unit === undefined ? '' : ` ${unit}`}`;
    const good = limit === undefined || (atLeast ? value >= limit : value <= limit);
    if (!good) missed += 1;
    const aim =
      limit === undefined
        ? ''
        : `  (${atLeast ? 'at least' : 'at most'} ${limit}: ${good ? 'met' : 'MISSED'})`;
    console.log(`  ${what.padEnd(62)} ${figure.padStart(10)}${aim}`);
  }
}
console.log(missed === 0 ? '\nEvery aim met.' : `\n${missed} aims missed.`);
process.exitCode = missed === 0 ? 0 : 1;

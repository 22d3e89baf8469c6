/** What `check --fix` leaves as it is, and why: a mend cannot be made, or nobody but the person knows which. */

import type { Finding } from '../../findings/finding.ts';
import { findingJacks } from '../../findings/gathered.ts';
import type { Barred } from '../../findings/mend/mending.ts';
import { listed } from '../../findings/words.ts';
import { jackName } from '../../patch/patch.ts';
import { table } from '../table.ts';

/** A line for each finding that is not mended, with the reason; empty where there is none. */
export function barredAsText(barred: readonly Barred[]): readonly string[] {
  return grouped(barred).map((group) => {
    const { finding, why } = group[0];
    const { place, rule } = finding;
    const jacks = listed(group.flatMap(({ finding: { jack } }) => (jack ? jackName(jack) : [])));
    const what = `${place.file}:${place.line}: ${rule}${jacks === '' ? '' : ` at ${jacks}`}`;
    return `${what} is not mended:\n${table([['', `${why}.`]])}`;
  });
}

/** One text for all findings that have no mend; undefined where there is none. */
export function mendlessAsText(mendless: readonly Finding[]): string | undefined {
  if (mendless.length === 0) return undefined;
  const rows = mendless.map((finding) => [
    `${finding.place.file}:${finding.place.line}`,
    finding.rule,
    listed(findingJacks(finding).map(jackName)),
  ]);
  return `Left to you, with no change that is sure to be meant; forehear check says what to do:\n${table(rows)}`;
}

/** The findings that are left and have no mend, not even one that cannot be made. */
export function mendlessOf(
  left: readonly Finding[],
  barred: readonly Barred[],
): readonly Finding[] {
  return left.filter(
    (finding) =>
      !barred.some(({ finding: { rule, jack } }) => {
        const jacks = findingJacks(finding).map(jackName);
        return (
          rule === finding.rule && (jack ? jacks.includes(jackName(jack)) : jacks.length === 0)
        );
      }),
  );
}

/** The shape that scripts rely on. */
export function barredAsData(barred: readonly Barred[]): readonly object[] {
  return barred.map(({ finding, why }) => ({ ...placeAsData(finding), why }));
}

/** The shape that scripts rely on. */
export function mendlessAsData(mendless: readonly Finding[]): readonly object[] {
  return mendless.map((finding) => ({
    ...placeAsData(finding),
    jacks: findingJacks(finding).map(jackName),
  }));
}

function placeAsData({ rule, place, jack }: Finding): object {
  return {
    rule,
    file: place.file,
    line: place.line,
    column: place.column,
    jack: jack === undefined ? null : jackName(jack),
  };
}

function grouped(barred: readonly Barred[]): readonly (readonly [Barred, ...Barred[]])[] {
  const groups = new Map<string, [Barred, ...Barred[]]>();
  for (const one of barred) {
    const key = JSON.stringify([one.finding.rule, one.why]);
    const group = groups.get(key);
    if (group === undefined) groups.set(key, [one]);
    else group.push(one);
  }
  return [...groups.values()];
}

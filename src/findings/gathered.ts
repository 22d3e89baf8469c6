/** One cause, one finding: what one source or setting does at several jacks is told once, at the worst. */

import { type JackRef, jackName } from '../patch/patch.ts';
import type { Finding } from './finding.ts';
import { listed } from './words.ts';
import { isWorse } from './worse.ts';

/** Gathers the findings of one rule and one cause; the others stay as they are. */
export function gatheredFindings(findings: readonly Finding[]): readonly Finding[] {
  const groups = new Map<string, Finding[]>();
  findings.forEach((finding, index) => {
    const { rule, cause, jack } = finding;
    const key = JSON.stringify(cause === undefined || !jack ? [index] : [rule, cause]);
    const group = groups.get(key);
    if (group === undefined) groups.set(key, [finding]);
    else group.push(finding);
  });
  return [...groups.values()].map((group) => together(group));
}

/** The jacks that a finding is about. */
export function findingJacks({ jack, jacks }: Finding): readonly JackRef[] {
  return jacks ?? (jack === undefined ? [] : [jack]);
}

function together(group: readonly Finding[]): Finding {
  const [worst, ...others] = group.toSorted((a, b) =>
    isWorse(a, b) ? -1 : isWorse(b, a) ? 1 : 0,
  ) as [Finding, ...Finding[]];
  if (others.length === 0) return worst;
  const alike = others.every((other) => !isWorse(worst, other));
  const names = listed(others.flatMap((one) => findingJacks(one).map(jackName)));
  return {
    ...worst,
    message: `${worst.message} The same goes${alike ? '' : ', no worse,'} for ${names}.`,
    jacks: [worst, ...others].flatMap(findingJacks),
  };
}

/** A step as a sign on its line. */

import { SIGN, type StepMark, signPaths } from '../../../output/sheet/step-sign.ts';

export interface StepSignProps {
  readonly sign: string;
  readonly mark: StepMark | undefined;
}

export function StepSign({ sign, mark }: StepSignProps) {
  return (
    <svg class="step" viewBox={`0 0 ${SIGN.width} ${SIGN.height}`} aria-hidden="true">
      {signPaths(sign, mark).map(({ piece, d }, index) => (
        <path key={index} class={piece} d={d} />
      ))}
    </svg>
  );
}

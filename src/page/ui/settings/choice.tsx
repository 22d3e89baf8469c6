/** A list to choose from, whose choice the engine takes. */

import { useCell } from '../../pieces/cell.ts';
import type { ChangeOutcome } from '../moves.ts';

interface ChoiceProps {
  readonly label: string;
  readonly value: string;
  readonly options: readonly string[];
  readonly describedBy?: string | undefined;
  readonly onChoose: (value: string) => Promise<ChangeOutcome>;
}

export function Choice({ label, value, options, describedBy, onChoose }: ChoiceProps) {
  // What was chosen and is still to be taken; drawing meanwhile would go back to what was there before.
  const chosen = useCell<{ readonly value: string } | undefined>(() => undefined);
  return (
    <select
      value={chosen.now?.value ?? value}
      aria-label={label}
      aria-describedby={describedBy}
      onChange={({ currentTarget }) => {
        const choice = { value: currentTarget.value };
        chosen.put(choice);
        void onChoose(choice.value).then(() => {
          if (chosen.now === choice) chosen.put(undefined);
        });
      }}
    >
      {options.map((option) => (
        <option key={option}>{option}</option>
      ))}
    </select>
  );
}

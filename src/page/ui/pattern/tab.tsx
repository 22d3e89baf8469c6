/** The steps of a pattern for mouse and keys: signs on ruled lines, a line a channel. */

import { useMemo, useRef } from 'preact/hooks';
import { stepsDrawn } from '../../../output/sheet/pattern-table.ts';
import type { ChannelView, PatternView } from '../../protocol.ts';
import { useKeptFocus } from '../kept-focus.ts';
import { useSheet } from '../use-sheet.ts';
import type { EditedLines } from './edited-lines.ts';
import { StepGrid } from './grid.tsx';
import { NowHere } from './now-here.tsx';
import { StepSign } from './step-sign.tsx';
import { nextSign, placeOfStep, SIGNS, saidWords, signOfKey } from './tab-line.ts';

export interface TabProps {
  readonly module: string;
  readonly pattern: PatternView;
  readonly lines: EditedLines;
  /** The step that keys go to: the row of its channel and its number, both from 0. */
  readonly chosen: readonly [row: number, step: number];
  readonly onChoose: (row: number, step: number) => void;
}

export function TabEditor({ module, pattern, lines, chosen, onChoose }: TabProps) {
  const { name, stepsPerQuarter, channels, length } = pattern;
  const sheet = useSheet();
  const table = useRef<HTMLTableElement>(null);
  useKeptFocus(table, nearestCell);
  const count = stepsDrawn(
    length,
    channels.map(({ steps }) => steps.length),
  );

  const signAt = (channel: ChannelView, step: number): string =>
    lines.stepsOf(channel)[step] ?? '-';
  const go = (row: number, step: number): void => {
    const channel = channels[row];
    if (channel === undefined || step < 0 || step >= channel.steps.length) return;
    onChoose(row, step);
    table.current?.querySelector<HTMLElement>(`[data-row="${row}"][data-step="${step}"]`)?.focus();
  };
  const byKeys = (event: KeyboardEvent): void => {
    const cell = cellOf(event);
    if (cell === undefined || event.ctrlKey || event.metaKey || event.altKey) return;
    const [row, step] = cell;
    const channel = channels[row] as ChannelView;
    const last = channel.steps.length - 1;
    const moves: Record<string, readonly [number, number]> = {
      ArrowRight: [row, step + 1],
      ArrowLeft: [row, step - 1],
      ArrowDown: [row + 1, step],
      ArrowUp: [row - 1, step],
      Home: [row, 0],
      End: [row, last],
    };
    const to = moves[event.key];
    const sign = signOfKey(event.key);
    const isNext = event.key === ' ' || event.key === 'Enter';
    if (to === undefined && sign === undefined && !isNext) {
      // This also keeps a number from switching to a version.
      if (event.key.length === 1) sheet.say(`“${event.key}” writes no step.`);
      return;
    }
    event.preventDefault();
    event.stopPropagation();
    if (to !== undefined) go(to[0], to[1]);
    else if (isNext) lines.write(channel, step, nextSign(signAt(channel, step)));
    else if (sign !== undefined) {
      lines.write(channel, step, sign);
      if (event.key !== 'Delete') go(row, step + (event.key === 'Backspace' ? -1 : 1));
    }
  };
  const byHand = (event: Event): void => {
    const cell = cellOf(event);
    if (cell === undefined) return;
    const [row, step] = cell;
    const channel = channels[row];
    if (channel !== undefined) lines.write(channel, step, nextSign(signAt(channel, step)));
  };
  const focused = (event: Event): void => {
    const cell = cellOf(event);
    if (cell !== undefined) onChoose(cell[0], cell[1]);
  };

  return (
    <div class="tab-place">
      <StepGrid
        table={table}
        name={`Pattern ${name}`}
        onKeyDown={byKeys}
        onClick={byHand}
        onFocusIn={focused}
      >
        <thead>
          <tr>
            <th scope="col">
              <span class="unseen">channel</span>
            </th>
            {Array.from({ length: count }, (_, step) => (
              <th key={step} scope="col" class={ruleOf(step, stepsPerQuarter, length)}>
                {step % stepsPerQuarter === 0 ? (
                  step / stepsPerQuarter + 1
                ) : (
                  <span class="unseen">{placeOfStep(step, stepsPerQuarter)}</span>
                )}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {channels.map((channel, row) => (
            <Row
              key={channel.name}
              channel={channel}
              row={row}
              signs={lines.stepsOf(channel)}
              chosen={chosen[0] === row ? chosen[1] : -1}
              count={count}
              stepsPerQuarter={stepsPerQuarter}
              length={length}
            />
          ))}
        </tbody>
      </StepGrid>
      <NowHere table={table} module={module} pattern={name} />
    </div>
  );
}

interface RowProps {
  readonly channel: ChannelView;
  readonly row: number;
  readonly signs: string;
  /** The step at which the Tab key stops; below 0 if none in this row. */
  readonly chosen: number;
  readonly count: number;
  readonly stepsPerQuarter: number;
  readonly length: number;
}

function Row({ channel, row, signs, chosen, count, stepsPerQuarter, length }: RowProps) {
  const { name, isOwn, hasLine } = channel;
  const content = JSON.stringify(channel);
  // Most lines are unchanged after an edit, so each row is memoized.
  return useMemo(() => {
    const round =
      hasLine && signs.length < length ? `goes round every ${signs.length} steps` : undefined;
    const why = [
      ...(isOwn || !hasLine ? [] : ['from the pattern before it']),
      ...(round ? [round] : []),
    ];
    return (
      <tr>
        <th scope="row" title={why.length === 0 ? undefined : why.join('; ')}>
          {name}
          {why.length > 0 && (
            <span class="quiet">
              {!isOwn && hasLine && ' ·'}
              {round !== undefined && ' ↻'}
              <span class="unseen">, {why.join(', ')}</span>
            </span>
          )}
        </th>
        {Array.from({ length: count }, (_, step) => {
          const own = step % signs.length;
          const sign = signs[own] as string;
          const mark = channel.marks[own];
          const style = ruleOf(step, stepsPerQuarter, length);
          if (step >= signs.length)
            return (
              <td key={step} class={`${style} again`} aria-hidden="true">
                <StepSign sign={sign} mark={mark} />
              </td>
            );
          return (
            <td
              key={step}
              class={style}
              data-row={row}
              data-step={step}
              data-sign={sign}
              tabIndex={chosen === step ? 0 : -1}
              aria-label={`${name}, ${placeOfStep(step, stepsPerQuarter)}: ${SIGNS[sign] ?? sign}${saidWords(channel.at[step + 1])}`}
            >
              <StepSign sign={sign} mark={mark} />
            </td>
          );
        })}
      </tr>
    );
  }, [content, row, signs, chosen, count, stepsPerQuarter, length]);
}

/** The step that an event is on; undefined elsewhere. */
function cellOf({ target }: Event): readonly [row: number, step: number] | undefined {
  const cell = target instanceof Element ? target.closest<HTMLElement>('td[data-step]') : null;
  return cell === null ? undefined : [Number(cell.dataset.row), Number(cell.dataset.step)];
}

/** The cell nearest to the place of a former one; null if there is none. */
function nearestCell(table: HTMLElement, { dataset }: HTMLElement): HTMLElement | null {
  const rows = [...table.querySelectorAll<HTMLElement>('tbody tr')];
  const cells =
    rows[Math.min(Number(dataset.row), rows.length - 1)]?.querySelectorAll<HTMLElement>(
      'td[data-step]',
    ) ?? [];
  return cells[Math.min(Number(dataset.step), cells.length - 1)] ?? null;
}

function ruleOf(step: number, stepsPerQuarter: number, length: number): string {
  const end = step === length ? ' end' : '';
  if (step % (4 * stepsPerQuarter) === 0) return `bar${end}`;
  return step % stepsPerQuarter === 0 ? `beat${end}` : end;
}

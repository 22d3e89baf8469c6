// Every control of the worksheet that is served, pressed in a real browser: all of them, one after another.

import { expect, it } from 'vitest';
import { browsing } from './browser.ts';
import { Controls } from './controls.ts';
import { clipOf, FILE, folder, layOut, served } from './controls-place.ts';
import { sheetTable } from './controls-sheet.ts';

const pages = browsing();

// Some three hundred controls, two minutes beside other tests.
it('every control of the worksheet that is served', { timeout: 300_000 }, async () => {
  const place = folder();
  const { page, complaints, onDisk } = await served(pages, place, {});
  await layOut(page);
  const table = sheetTable({ page, file: FILE, clip: clipOf(place), onDisk });
  expect(await new Controls(page).press(table)).toEqual([]);
  // The browser writes down each refusal of a name for a new file.
  expect(complaints.filter((one) => !one.includes('status of 422'))).toEqual([]);
});

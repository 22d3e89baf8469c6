/** What a folder holds after a command. */

import { readdirSync, readFileSync, statSync } from 'node:fs';
import { join } from 'node:path';

/** Every file with its bytes in base64, but for the hidden lists that sets keep: times in these differ from run to run. */
export function contents(folder: string): Record<string, string> {
  return Object.fromEntries(
    readdirSync(folder, { recursive: true, encoding: 'utf8' })
      .filter((name) => statSync(join(folder, name)).isFile())
      .filter((name) => !name.endsWith('.forehear.json'))
      .sort()
      .map((name) => [name, readFileSync(join(folder, name)).toString('base64')]),
  );
}

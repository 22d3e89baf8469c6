/** A lesson in Markdown, for who goes on writing it: a course's own notes, slides, a wiki. */

import { jackName } from '../../patch/patch.ts';
import { printableLines } from '../../patch/text/printable.ts';
import {
  cueOf,
  type Lesson,
  levelOf,
  type Marks,
  paragraphsOf,
  type Told,
  titleOf,
} from './lesson-words.ts';

/** Writes it. */
export function lessonMarkdown(lesson: Lesson): string {
  const { patch, stages, joined } = lesson;
  const parts = [
    `# ${plain(titleOf(lesson))}`,
    ...(patch.about === '' ? [] : [plain(patch.about)]),
    `Start with the volume low. ${levelOf(lesson)} [All of them one after the other](${joined}), with a cue point at each.`,
    [
      '| | stage | at the jack | in the joined file |',
      '|---|---|---|---|',
      ...stages.map(
        (told, index) =>
          `| ${index + 1} | ${plain(told.stage.title)} | \`${jackName(told.stage.jack)}\` | ${cueOf(told)} |`,
      ),
    ].join('\n'),
    ...stages.map(stageText),
  ];
  return printableLines(`${parts.join('\n\n')}\n`);
}

function stageText(told: Told, index: number): string {
  const { stage, clip, picture } = told;
  const lines = [
    `## ${index + 1}. ${plain(stage.title)}`,
    ...paragraphsOf(told, MARKS),
    ...(clip === undefined ? [] : [`Listen: [${clip}](${clip})`]),
    `![${plain(stage.title)}](${picture})`,
  ];
  return lines.filter((line) => line !== '').join('\n\n');
}

const MARKS: Marks = {
  plain,
  strong: (words) => `**${plain(words)}**`,
  code: (words) => `\`${words}\``,
};

/** Nothing in a patch's text is markup, and none of it breaks a line or a table. */
function plain(words: string): string {
  return words
    .trim()
    .replace(/\s+/g, ' ')
    .replace(/[\\`*_[\]<>|#]/g, (mark) => `\\${mark}`);
}

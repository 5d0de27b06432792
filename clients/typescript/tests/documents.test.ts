import assert from 'node:assert/strict';
import { mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { test } from 'node:test';

import { writeDocument } from 'coilwright';

test('the pages of a document go to a file each, and to none under a wrong name', async () => {
  const folder = mkdtempSync(join(tmpdir(), 'coilwright-'));
  const file = (name: string) => join(folder, name);
  try {
    const files = ['<svg>1</svg>', '<svg>2</svg>'].map((text) => Buffer.from(text).toString('base64'));
    const drawing = { files, media_type: 'image/svg+xml', code: '', warnings: [] };
    const pages = [file('winding-1.svg'), file('winding-2.svg')];
    assert.deepEqual(await writeDocument(drawing, file('winding.svg')), pages);
    assert.deepEqual(await writeDocument(drawing, file('winding.svg')), pages);
    assert.equal(readFileSync(pages[1]!, 'utf8'), '<svg>2</svg>');
    await assert.rejects(writeDocument(drawing, file('a.pdf')), /^TypeError: path: got .*, accepted: .* ends in \.svg/);
    await assert.rejects(writeDocument({ ...drawing, files: [] }, file('a.svg')), /^TypeError: document: got no files/);
    await assert.rejects(writeDocument(undefined, file('a.svg')), /^TypeError: document: got nothing, accepted: /);
    await assert.rejects(writeDocument(drawing, file('no/a.svg')), { code: 'ENOENT' });
    assert.deepEqual(readdirSync(folder), ['winding-1.svg', 'winding-2.svg']);
  } finally {
    rmSync(folder, { recursive: true });
  }
});

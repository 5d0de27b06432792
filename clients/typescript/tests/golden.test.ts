// The golden answers of tests/golden, which the suites of the other languages run as well.
import assert from 'node:assert/strict';
import { readdirSync, readFileSync } from 'node:fs';
import { describe, test } from 'node:test';

import { ServiceError } from 'coilwright';

import { gathered, methods, withoutUnset } from './check.js';
import { differenceOf } from './difference.js';
import { home, Server } from './server.js';

interface Case {
  readonly name: string;
  readonly request?: object;
  readonly requests?: object[];
  readonly answer?: object;
  readonly answers?: object[];
  readonly error?: object;
}

const folder = `${home}../../tests/golden`;
const files = readdirSync(folder).filter((name) => name.endsWith('.json'));
const known = new Map(methods().map((entry) => [entry.name, entry]));

type AnyCalls = Record<string, Record<string, (given: unknown) => Promise<unknown> | AsyncIterable<unknown>>>;

const client = (await Server.start()).client() as unknown as AnyCalls;

function errorOf(thrown: unknown): object {
  if (!(thrown instanceof ServiceError)) throw thrown;
  const { code, message, violations } = thrown;
  return { code, message, ...(violations.length > 0 ? { violations } : {}) };
}

test('every method has golden answers', () => {
  assert.deepEqual(new Set(files), new Set([...known.keys()].map((name) => `${name.replace('/', '.')}.json`)));
});

describe('golden', () => {
  for (const file of files) {
    test(file.replace('.json', ''), async () => {
      const golden = JSON.parse(readFileSync(`${folder}/${file}`, 'utf8')) as { method: string; cases: Case[] };
      const entry = known.get(golden.method);
      assert.ok(entry !== undefined, golden.method);
      assert.ok(golden.cases.length > 0);
      const call = client[entry.attribute]![entry.method.localName]!;
      for (const { name, request, requests, ...expected } of golden.cases) {
        const found: { answer?: unknown; answers?: unknown[]; error?: object } = {};
        if (requests !== undefined) {
          const { items, thrown } = await gathered(call(requests) as AsyncIterable<unknown>);
          found.answers = items.map((item) => withoutUnset(entry.method.output, item));
          if (thrown !== undefined) found.error = errorOf(thrown);
        } else {
          try {
            found.answer = withoutUnset(entry.method.output, await call(request));
          } catch (thrown) {
            found.error = errorOf(thrown);
          }
        }
        assert.equal(differenceOf(expected, found), '', name);
      }
    });
  }
});

test('a difference is seen wherever it is', () => {
  assert.equal(differenceOf({ a: [1, { b: 0.1 }] }, { a: [1, { b: 0.10000000001 }] }), '');
  assert.equal(differenceOf({ a: [1, { b: 0.1 }] }, { a: [1, { b: 0.1000001 }] }), '.a[1].b: 0.1000001, expected 0.1');
  assert.equal(differenceOf({ a: 1 }, {}), '.a: left out');
  assert.equal(differenceOf({}, { a: 1 }), '.a: not expected');
  assert.equal(differenceOf([1], [1, 2]), ': [1,2], expected [1]');
  assert.equal(differenceOf('1', 1), ': 1, expected "1"');
  assert.equal(differenceOf({ a: null }, { a: {} }), '.a: {}, expected null');
});

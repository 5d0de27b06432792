// What several tests look at.
import assert from 'node:assert/strict';
import { toJson, type JsonValue } from '@bufbuild/protobuf';

import { ServiceError, type Code } from 'coilwright';

import { attributes } from '../generated/attributes.js';
import { detailRegistry, serviceNamed } from '../src/contract.js';
import { toMessage } from '../src/messages.js';

/** The error that a call must end with. */
export async function refused(call: Promise<unknown>, code: Code): Promise<ServiceError> {
  const error = await call.then(
    (answer) => assert.fail(`answered: ${JSON.stringify(answer)}`),
    (thrown: unknown) => thrown,
  );
  assert.ok(error instanceof ServiceError, String(error));
  assert.equal(error.code, code, error.message);
  return error;
}

/** All of an iterable, and what it threw. */
export async function gathered<T>(iterable: AsyncIterable<T>): Promise<{ items: T[]; thrown: unknown }> {
  const items: T[] = [];
  try {
    for await (const item of iterable) items.push(item);
    return { items, thrown: undefined };
  } catch (thrown) {
    return { items, thrown };
  }
}

export const pause = (milliseconds: number) => new Promise<void>((resolve) => setTimeout(resolve, milliseconds));

/** Every method of the contract, with how a client calls it. */
export function methods() {
  return Object.entries(attributes).flatMap(([attribute, typeName]) => {
    const service = serviceNamed(typeName);
    return service.methods.map((method) => ({ service, method, attribute, name: `${service.name}/${method.name}` }));
  });
}

/** A plain object as the command line prints it: what is unset, zero or empty is left out. */
export function withoutUnset(type: Parameters<typeof toMessage>[0], plain: unknown): JsonValue {
  return toJson(type, toMessage(type, plain), { registry: detailRegistry, useProtoFieldName: true });
}

// The contract as it was built: descriptors of every message and service.
import { createFileRegistry, createRegistry, fromBinary, type DescMessage, type Registry } from '@bufbuild/protobuf';
import { EmptySchema, FileDescriptorProtoSchema, FileDescriptorSetSchema } from '@bufbuild/protobuf/wkt';
import { clone } from '@bufbuild/protobuf';
import { readFileSync } from 'node:fs';

export const contract = createFileRegistry(
  fromBinary(FileDescriptorSetSchema, readFileSync(new URL('../contract.binpb', import.meta.url))));

export function messageNamed(name: string): DescMessage {
  const found = contract.getMessage(`coilwright.v1.${name}`);
  if (found === undefined) throw new Error(`the contract was built without ${name}`);
  return found;
}

// What the contract calls FieldViolations travels under the name of a common message (status.proto says why).
function badRequest(): DescMessage {
  const file = clone(FileDescriptorProtoSchema, messageNamed('FieldViolations').file.proto);
  const message = file.messageType.find((type) => type.name === 'FieldViolations');
  if (message === undefined || message.field[0] === undefined) throw new Error('the contract was built without violations');
  file.name = 'coilwright/details.proto';
  file.package = 'google.rpc';
  file.dependency = [];
  file.messageType = [message];
  message.name = 'BadRequest';
  message.field[0].typeName = '.google.rpc.BadRequest.FieldViolation';
  const built = createFileRegistry(file, () => undefined).getMessage('google.rpc.BadRequest');
  if (built === undefined) throw new Error('the contract was built without violations');
  return built;
}

const details = createRegistry(badRequest());

/** Knows the details of a status. One that it does not know, from a newer server, is shown by its name alone. */
export const detailRegistry: Registry = {
  ...details,
  getMessage: (name) => details.getMessage(name) ?? EmptySchema,
};

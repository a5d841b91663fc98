// A message centre for tests: the npm package `smpp`, told what to do by lines of JSON on stdin.
// What it sees it tells by lines of JSON on stdout. It listens on loopback only.
'use strict';
const fs = require('fs');
const readline = require('readline');
const smpp = require('smpp');

const usual = {
  password: 'secret', // any other is refused
  statuses: [], // of the next submissions
  withhold: 0, // how many responses stay out
  late: 0, // milliseconds by which responses come late
  receiptFirst: false, // a receipt ahead of the response
  receiptAfter: null, // milliseconds after which a receipt follows, over whichever bind stands then
  receiptNames: 'id', // what a receipt carries: 'id', 'reference', or 'words' with an id not told before
  cut: 0, // milliseconds between the two halves of every PDU we write
  dropAfter: 0, // end the connection at this many submissions from now, unanswered
  deaf: false, // read nothing more
};
let mode = { ...usual };
let taken = 0;
const sessions = new Set();
const bound = new Set();
const owed = new Map(); // receipts that nobody has acknowledged yet: [what, the bind it went over]

const tell = (event, more) => process.stdout.write(JSON.stringify({ event, ...more }) + '\n');

// Every PDU in two pieces, at another place each time, and in order.
function cutWrites(socket) {
  const write = socket.write.bind(socket);
  let queue = Promise.resolve();
  let count = 0;
  socket.setNoDelay(true);
  socket.write = (octets, done) => {
    const place = 1 + (count++ % (octets.length - 1));
    if (!mode.cut) {
      queue = queue.then(() => write(octets, done));
      return true;
    }
    queue = queue
      .then(() => write(octets.subarray(0, place)))
      .then(() => new Promise((resolve) => setTimeout(resolve, mode.cut)))
      .then(() => write(octets.subarray(place), done));
    return true;
  };
}

const hex = (value) => (Buffer.isBuffer(value) ? value.toString('hex') : value);

function fields(pdu) {
  const message = pdu.short_message || {};
  const udh = message.udh ? [].concat(message.udh).map(hex).join('') : '';
  const names = [
    'source_addr', 'source_addr_ton', 'destination_addr', 'dest_addr_ton', 'dest_addr_npi',
    'esm_class', 'data_coding', 'service_type', 'validity_period', 'registered_delivery',
    'user_message_reference', 'sar_msg_ref_num', 'sar_total_segments', 'sar_segment_seqnum',
    'ussd_service_op', 'its_session_info',
  ];
  const text = Buffer.isBuffer(message.message) ? message.message.toString('latin1') : message.message;
  const told = { text, udh };
  for (const name of names) told[name] = hex(pdu[name]);
  return told;
}

function receipt(session, pdu, id) {
  session.deliver_sm({
    source_addr: pdu.destination_addr,
    source_addr_ton: 1,
    source_addr_npi: 1,
    destination_addr: pdu.source_addr,
    esm_class: smpp.ESM_CLASS.MC_DELIVERY_RECEIPT,
    short_message: `id:${id} sub:001 dlvrd:001 submit date:2611250900 done date:2611250901 ` +
      'stat:DELIVRD err:000 text:',
    receipted_message_id: id,
    message_state: 2,
    user_message_reference: pdu.user_message_reference,
  }, (answer) => tell('receipt answered', { status: answer.command_status }));
}

// As a centre does, it comes again over the next bind until it is acknowledged.
function payReceipts() {
  const session = [...bound].pop();
  if (!session) return;
  for (const [id, debt] of owed) {
    if (debt.over && bound.has(debt.over)) continue;
    debt.over = session;
    const names = { user_message_reference: debt.pdu.user_message_reference };
    let text = '';
    if (debt.names === 'id') names.receipted_message_id = id;
    if (debt.names === 'words') {
      delete names.user_message_reference;
      const words = debt.pdu.short_message.message.slice(0, 20);
      text = `id:other-${id} sub:001 dlvrd:001 submit date:2611250900 done date:2611250901 ` +
        `stat:DELIVRD err:000 text:${words}`;
    }
    session.deliver_sm({
      source_addr: debt.pdu.destination_addr,
      source_addr_ton: 1,
      source_addr_npi: 1,
      destination_addr: debt.pdu.source_addr,
      esm_class: smpp.ESM_CLASS.MC_DELIVERY_RECEIPT,
      short_message: text,
      message_state: 2,
      ...names,
    }, (answer) => {
      if (answer.command_status === 0) owed.delete(id);
      else debt.over = null;
      tell('receipt answered', { status: answer.command_status });
    });
  }
}
setInterval(payReceipts, 25);

function submitted(session, pdu) {
  const status = mode.statuses.shift() || 0;
  const id = status ? undefined : `n-${++taken}`;
  tell('submit', { ...fields(pdu), status, id });
  if (mode.receiptAfter !== null && !status) {
    const names = mode.receiptNames;
    setTimeout(() => owed.set(id, { pdu, names, over: null }), mode.receiptAfter);
  }
  if (mode.dropAfter && --mode.dropAfter === 0) {
    session.socket.destroy();
    return;
  }
  if (mode.withhold > 0) {
    mode.withhold -= 1;
    return;
  }
  if (mode.receiptFirst && !status) receipt(session, pdu, id);
  const answer = () => session.send(pdu.response({ command_status: status, message_id: id }));
  if (mode.late) setTimeout(answer, mode.late);
  else answer();
}

function serve(session) {
  sessions.add(session);
  cutWrites(session.socket);
  const bind = (pdu) => {
    tell('bind', { command: pdu.command, system_id: pdu.system_id, version: pdu.interface_version });
    const wrong = pdu.password !== mode.password;
    if (!wrong && pdu.command !== 'bind_transmitter') bound.add(session);
    session.send(pdu.response({ command_status: wrong ? smpp.ESME_RINVPASWD : 0 }));
  };
  for (const kind of ['bind_transceiver', 'bind_transmitter', 'bind_receiver']) {
    session.on(kind, bind);
  }
  session.on('submit_sm', (pdu) => submitted(session, pdu));
  session.on('enquire_link', (pdu) => {
    tell('enquire_link');
    if (!mode.deaf) session.send(pdu.response());
  });
  session.on('unbind', (pdu) => {
    tell('unbind');
    session.send(pdu.response());
  });
  session.on('generic_nack', (pdu) => tell('nack', { status: pdu.command_status }));
  session.on('error', () => tell('error'));
  session.on('close', () => {
    sessions.delete(session);
    bound.delete(session);
    tell('close');
  });
}

// With nobody bound an order is lost, as a real centre's delivery would be; the test then waits in vain.
const nobody = new Proxy({}, { get: () => () => tell('nobody bound') });
const newest = () => [...sessions].pop() || nobody;

function deliver(order) {
  const pdu = { ...order.pdu };
  if (pdu.its_session_info) pdu.its_session_info = Buffer.from(pdu.its_session_info, 'hex');
  if (pdu.udh) {
    pdu.short_message = { udh: Buffer.from(pdu.udh, 'hex'), message: pdu.short_message };
    delete pdu.udh;
  }
  newest().deliver_sm(pdu, (answer) => tell('answered', { n: order.n, status: answer.command_status }));
}

const orders = {
  mode: (order) => { mode = { ...usual, ...order.mode }; tell('mode'); },
  deliver,
  enquire: () => newest().enquire_link((answer) => tell('alive', { command: answer.command })),
  raw: (order) => [...sessions].pop().socket.write(Buffer.from(order.hex, 'hex')),
  unbind: () => newest().unbind(() => tell('unbound')),
  forgive: () => owed.clear(),
  drop: () => [...sessions].forEach((session) => session.socket.destroy()),
};

const [key, cert] = process.argv.slice(2);
const secure = key ? { key: fs.readFileSync(key), cert: fs.readFileSync(cert) } : {};
const server = smpp.createServer(secure, serve);
server.on('tlsClientError', () => tell('tls refused'));
server.listen(0, '127.0.0.1', () => tell('listening', { port: server.address().port }));
readline.createInterface({ input: process.stdin })
  .on('line', (line) => { const order = JSON.parse(line); orders[order.do](order); })
  .on('close', () => process.exit(0));

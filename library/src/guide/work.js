'use strict';
/* The work: what is done next, what it takes to do it again, and what a wrong byte means. It knows no screen. */

const EVERY = 0xffff;

/** Where a person is at the beginning: nothing done, every lever down. `known` are the levers that are sure to stand as in `levers`. */
function beginning() {
  return { way: 0, at: -1, behind: 0, aside: [], asideAt: 0, lamps: 0, touched: false, slip: false, mended: [],
    levers: { address: 0, data: 0, sense: 0 }, known: { address: EVERY, data: EVERY, sense: EVERY }, tape: null, asked: [] };
}

/** The work on one way to start: `where` is a state as `beginning` makes it. */
function Work(guide, where) {
  this.guide = guide;
  this.where = where;
}

Work.prototype = {
  actions: function () { return this.guide.ways[this.where.way].actions; },

  isBegun: function () { return this.where.at >= 0; },

  isDone: function () { return this.where.at >= this.actions().length; },

  isBehind: function () { return this.where.behind > 0; },

  /** What is to be done now, or what is looked back at. */
  action: function () {
    const where = this.where;
    if (where.behind) return this.actions()[where.at - where.behind];
    return where.aside.length ? where.aside[where.asideAt] : this.actions()[where.at];
  },

  isAsking: function () { return this.where.asked.length > 0; },

  /** It does not go as shown: questions are asked, if there are any. */
  ask: function () { this.where.asked = [0]; },

  /** An answer leads to a place among the questions. */
  answer: function (place) { this.where.asked.push(place); },

  /** Where the answers have led; nothing if no questions were worked out. */
  asked: function () {
    const questions = this.guide.ways[this.where.way].questions;
    return questions && questions.places[this.where.asked[this.where.asked.length - 1]];
  },

  /** Back to the action that did not go as shown. */
  leave: function () { this.where.asked = []; },

  /** Whether the lamps of a check are asked for. */
  asks: function () {
    const action = this.action();
    return !this.isBehind() && action !== undefined && action.check !== undefined;
  },

  /** A lamp was tapped. */
  tap: function (bit) {
    this.where.lamps ^= 1 << bit;
    this.where.touched = true;
  },

  /** None of the lamps is lit. */
  none: function () {
    this.where.lamps = 0;
    this.where.touched = true;
  },

  /** Goes on; says whether that could be done. At a check the lamps must have been told. */
  goOn: function () {
    const where = this.where;
    if (where.at < 0) return this.move(0);
    if (this.isDone() || this.isAsking()) return false;
    if (where.slip) return this.mend();
    if (where.behind) {
      where.behind--;
      return true;
    }
    const action = this.action();
    if (action.check !== undefined) {
      if (!where.touched) return false;
      if (where.lamps !== action.check) {
        where.slip = true;
        return true;
      }
    }
    this.learn(action);
    if (action.clock === 'starts') where.tape = { at: Date.now() };
    if (action.clock && action.clock !== 'starts') where.tape = null;
    this.darken();
    if (where.aside.length && ++where.asideAt < where.aside.length) return true;
    return this.move(where.at + 1);
  },

  /** Looks back at what was done before; says whether there is anything. */
  goBack: function () {
    const where = this.where;
    if (this.isAsking()) {
      where.asked.pop();
      return true;
    }
    if (where.slip) {
      where.slip = false;
      this.darken();
      return true;
    }
    if (where.behind < where.at) {
      where.behind++;
      return true;
    }
    if (where.at !== 0) return false;
    where.at = -1;
    where.behind = 0;
    return true;
  },

  /** Does the action that is looked at once more, and goes on from there. */
  again: function () {
    const where = this.where;
    const at = where.at - where.behind;
    this.move(at);
    this.turnTo(redo(this.actions()[at]));
  },

  /** After a pause: the action that was under way is done from its beginning, whatever the levers do. */
  resume: function () {
    const where = this.where;
    const list = where.aside.length ? where.aside : this.isBegun() && !this.isDone() ? redo(this.actions()[where.at]) : [];
    where.behind = 0;
    where.slip = false;
    this.turnTo(list);
  },

  /** What is wrong with the byte that was seen: its levers, the leftmost first. */
  slip: function () {
    const action = this.action();
    const bits = [7, 6, 5, 4, 3, 2, 1, 0].filter(bit => (this.where.lamps ^ action.check) >> bit & 1);
    return {
      at: action.at, seen: this.where.lamps, wanted: action.check,
      levers: bits.map(bit => ({ number: bit + this.guide.pictures.data.lowest, up: (action.check >> bit & 1) === 1 }))
    };
  },

  /** Mends the byte that was found wrong, and checks it. */
  mend: function () {
    const action = this.action();
    this.where.mended.push(action.at);
    this.turnTo(redo(byteOf(action)).concat(redo(action)));
    return true;
  },

  /** Deposits again from the byte that was found wrong. */
  depositFrom: function () {
    const address = this.action().address;
    for (let at = this.where.at; at >= 0; at--) {
      const action = this.actions()[at];
      if (action.byte !== undefined && action.address === address) {
        this.where.mended.push(action.at);
        this.move(at);
        this.turnTo(redo(action));
        return;
      }
    }
  },

  /** How a bank of levers is set, with what moves: what nobody knows has to be set too. */
  setting: function (action) {
    if (!action.levers) return null;
    const bank = this.guide.pictures[action.levers.bank];
    const all = (1 << bank.count) - 1;
    const known = this.isBehind() ? 0 : this.where.known[bank.on] >> bank.lowest;
    const moved = (action.levers.value ^ this.where.levers[bank.on] >> bank.lowest) | ~known;
    return { bank: bank, value: action.levers.value, moved: moved & all };
  },

  /** The levers stand as they were to be set. */
  learn: function (action) {
    if (!action.levers) return;
    const bank = this.guide.pictures[action.levers.bank];
    const all = ((1 << bank.count) - 1) << bank.lowest;
    this.where.levers[bank.on] = this.where.levers[bank.on] & ~all | action.levers.value << bank.lowest;
    this.where.known[bank.on] |= all;
  },

  darken: function () {
    this.where.lamps = 0;
    this.where.touched = false;
  },

  turnTo: function (list) {
    this.where.aside = list;
    this.where.asideAt = 0;
    this.where.slip = false;
    this.where.known = { address: 0, data: 0, sense: 0 };
    this.darken();
  },

  move: function (at) {
    this.where.at = at;
    this.where.behind = 0;
    this.where.aside = [];
    this.where.asideAt = 0;
    const next = this.actions()[at];
    if (next && next.anew) this.where.known = { address: 0, data: 0, sense: 0 };
    return true;
  }
};

/** What it takes to do an action once more, however the panel stands: a byte is deposited where EXAMINE has led. */
function redo(action) {
  if (action.address === undefined) return [action];
  const examine = {
    part: action.part, address: action.address, at: action.at, key: 'EXAMINE',
    levers: { bank: 'address', value: action.address }
  };
  if (action.check !== undefined) return [Object.assign(examine, { check: action.check })];
  if (action.byte === undefined) return [examine];
  return [examine, Object.assign({}, action, { key: 'DEPOSIT' })];
}

/** The deposit of the byte that a check looks at. */
function byteOf(check) {
  return {
    part: check.part, address: check.address, at: check.at, byte: check.check, key: 'DEPOSIT',
    levers: { bank: 'data', value: check.check }
  };
}

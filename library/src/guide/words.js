/* The words: an action as one person reads it to another. */

const DIGITS = { 0: 'zero', 1: 'one', 2: 'two', 3: 'three', 4: 'four', 5: 'five', 6: 'six', 7: 'seven', 8: 'eight', 9: 'nine' };

/** An address or a byte digit by digit, from the right in threes. */
function spelt(text) {
  return text.replace(/ /g, '').replace(/(.)(?=(...)+$)/g, '$1,').split('').map(c => DIGITS[c] || c).join(' ').replace(/ ,/g, ',');
}

/** Levers from left to right, a pause between groups. */
function ups(setting) {
  const places = setting.bank.places;
  return places.at.map((_, at) => {
    const up = setting.value >> (setting.bank.count - 1 - at) & 1;
    return (at > 0 && places.opens[at] ? ', ' : at > 0 ? ' ' : '') + (up ? 'up' : 'down');
  }).join('');
}

/** Which levers move, by number. */
function moves(setting) {
  const told = up => {
    const list = [];
    for (let bit = setting.bank.count - 1; bit >= 0; bit--) {
      if (setting.moved >> bit & 1 && (setting.value >> bit & 1) === up) list.push(bit + setting.bank.lowest);
    }
    return list.length ? 'push ' + (up ? 'up ' : 'down ') + list.join(', ') : '';
  };
  const list = [told(1), told(0)].filter(part => part);
  return list.length ? sentence(list.join('; ')) : 'Leave every lever as it stands.';
}

function sentence(text) {
  return text.charAt(0).toUpperCase() + text.slice(1) + '.';
}

/** An action to be read aloud. */
function spoken(work) {
  const action = work.action();
  const parts = [];
  if (action.at) parts.push(spelt(action.at));
  else if (action.words) parts.push(action.words);
  const setting = work.setting(action);
  if (setting) parts.push(ups(setting));
  if (action.key) parts.push(action.key.toLowerCase());
  if (action.check !== undefined) parts.push('which lamps are lit?');
  if (action.shows) parts.push(action.shows);
  return parts.join('. ').replace(/\.\./g, '.');
}

/** What is wrong with a byte. */
function slipWords(slip, bytes) {
  const told = up => {
    const numbers = slip.levers.filter(lever => lever.up === up).map(lever => lever.number);
    const many = numbers.length > 1;
    const lamps = (many ? ': their lamps are ' : ': its lamp is ') + (up ? 'dark' : 'lit');
    return numbers.length ? [(many ? 'Levers ' : 'Lever ') + numbers.join(', ') + ' must be ' + (up ? 'up' : 'down') + lamps + '.'] : [];
  };
  const levers = told(true).concat(told(false));
  return 'The byte at ' + slip.at + ' is ' + bytes[slip.seen] + '. It must be ' + bytes[slip.wanted] + '. ' + levers.join(' ');
}

/** Seconds as minutes and seconds. */
function clockWords(seconds) {
  const whole = Math.max(0, Math.floor(seconds));
  return Math.floor(whole / 60) + ':' + ('0' + whole % 60).slice(-2);
}

// Commander loads child_process for commands that are separate programs, of which Forehear has none;
// with the network code that it loads this takes 8 ms. Here it is loaded when first used.
module.exports = {
  get spawn() {
    return process.getBuiltinModule('child_process').spawn;
  },
};

// Commander loads child_process for commands that are programs of their own, which Forehear has none
// of; with the network code behind it that takes 8 ms. Here it is loaded when first used.
module.exports = {
  get spawn() {
    return process.getBuiltinModule('child_process').spawn;
  },
};

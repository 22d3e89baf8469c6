// The last step of `npm start`: what to do with the first clip, in commands that work in the clone.
process.stdout.write(`
What next
  hear it, softly at first    renders/closed-hat.wav, in any player
  move its settings           npx forehear listen patches/closed-hat.yaml
  hear a longer hat           npx forehear render patches/closed-hat.yaml --set shape.release=400ms -o renders/longer-hat.wav
  begin a patch of your own   npx forehear new my-hat
`);

// How the search ranks what it finds: pages before names of the library, of which many are alike.
// The script that asks for it declares it too, so it must be a `var`.
var Scorer = {
  objNameMatch: 6,
  objPartialMatch: 2,
  objPrio: { 0: 2, 1: 0, 2: -2 },
  objPrioDefault: 0,
  title: 30,
  partialTitle: 15,
  term: 8,
  partialTerm: 3,
};

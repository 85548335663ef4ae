//! Rule packs: rule files read, checked and kept as one template graph.

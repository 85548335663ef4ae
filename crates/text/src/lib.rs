//! Files as text: spots, problems with a caret and the nearest name, guarded YAML and JSON reading.

//! A logic analyser's trace, in either format.

use bobweight_tool::proof::{Edge, Line, Listener, Names, TraceError, csv_edges, vcd_edges};

/// Edges of a short trace: more are not looked at.
const MOST_EDGES: usize = 100_000;

/// What the parser of value change dumps makes of bytes: no panic, times that never run backwards, each signal moving to and fro;
/// a refusal has words. A listener takes whatever edges there are.
pub fn trace_vcd(bytes: &[u8]) {
    judge(vcd_edges(bytes, &names()));
}

/// The same of tables.
pub fn trace_csv(bytes: &[u8]) {
    judge(csv_edges(bytes, &names()));
}

fn names() -> Names {
    Names { pickup: "pickup".to_owned(), coil: "coil".to_owned() }
}

fn judge(opened: Result<impl Iterator<Item = Result<Edge, TraceError>>, TraceError>) {
    let edges = match opened {
        Ok(edges) => edges,
        Err(error) => return assert!(!error.to_string().is_empty()),
    };
    let mut listener = Listener::new(4, false, 15);
    let (mut last_ps, mut levels) = (0, [None, None]);
    for edge in edges.take(MOST_EDGES) {
        let edge = match edge {
            Ok(edge) => edge,
            Err(error) => return assert!(!error.to_string().is_empty()),
        };
        assert!(edge.at_ps >= last_ps, "time runs backwards: {edge:?} after {last_ps}");
        last_ps = edge.at_ps;
        // After a level that nobody knows a signal may move the same way again.
        let level = &mut levels[usize::from(edge.line == Line::Coil)];
        *level = Some(edge.rises);
        let _ = listener.hear(edge);
    }
    let _ = listener.end();
}

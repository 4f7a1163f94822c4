use super::*;

fn names() -> Names {
    Names { pickup: "pickup".to_owned(), coil: "coil".to_owned() }
}

const HEAD: &str = "$timescale 10 ns $end\n$scope module board $end\n$var wire 1 ! pickup $end\n$var wire 1 \" coil $end\n\
                    $var wire 8 # bus $end\n$upscope $end\n$enddefinitions $end\n";

fn vcd(body: &str) -> Result<Vec<(u64, Line, bool)>, TraceError> {
    let text = format!("{HEAD}{body}");
    let edges: Result<Vec<Edge>, TraceError> = vcd_edges(text.as_bytes(), &names())?.collect();
    Ok(edges?.into_iter().map(|edge| (edge.at_ps, edge.line, edge.rises)).collect())
}

fn csv(text: &str) -> Result<Vec<(u64, Line, bool)>, TraceError> {
    let edges: Result<Vec<Edge>, TraceError> = csv_edges(text.as_bytes(), &names())?.collect();
    Ok(edges?.into_iter().map(|edge| (edge.at_ps, edge.line, edge.rises)).collect())
}

#[test]
fn a_dump_gives_each_move_once_in_picoseconds() {
    let edges =
        vcd("#0 $dumpvars 0! x\" b0 # $end\n#5 1!\n#6 1!\n#7 0\"\n#9 1\" b1011 #\n#12 0! z\"\n#13 0\"\n").unwrap();
    // The first known level of the coil is no edge, and nor is the way out of an unknown one.
    assert_eq!(edges, [(50_000, Line::Pickup, true), (90_000, Line::Coil, true), (120_000, Line::Pickup, false)]);
}

#[test]
fn a_dump_that_was_stopped_in_the_middle_of_a_line_ends_there() {
    assert_eq!(vcd("#0 0! 0\"\n#5 1!\n#1").unwrap(), [(50_000, Line::Pickup, true)]);
}

#[test]
fn a_table_gives_each_move_once_whatever_its_unit_and_beginning() {
    let expected = [(1_000_000, Line::Pickup, true), (1_000_000, Line::Coil, true), (2_500_000, Line::Coil, false)];
    for text in [
        "Time [s],pickup,coil\n-0.000001,0,0\n0,1,1\n0.0000015,1,0\n",
        "time_us,coil,pickup\n0,0,0\n1,1,1\n2.5,0,1\n",
        "# exported\nTime (ns), other, pickup, coil\n7, 1, 0, 0\n1007, 0, 1, 1\n2507, 1, 1, 0\n2600,,,\n",
    ] {
        assert_eq!(csv(text).unwrap(), expected, "{text}");
    }
}

#[test]
fn what_is_wrong_with_a_trace_is_told_with_its_line() {
    let said = |error: TraceError| error.to_string();
    assert_eq!(said(vcd("#5 0!\n#4 1!\n").unwrap_err()), "trace.vcd, line 9: the time runs backwards");
    assert!(said(vcd("#5 0!\n?\n").unwrap_err()).starts_with("trace.vcd, line 9: "));
    assert_eq!(said(csv("Time [s],pickup\n").unwrap_err()), "trace.csv: there is no signal `coil`; it has pickup");
    assert_eq!(
        said(csv("Time,pickup,coil\n").unwrap_err()),
        "trace.csv, line 1: the time column `Time` does not say its unit"
    );
    assert!(said(csv("Time [s];pickup;coil\n").unwrap_err()).contains("semicolons"));
    assert!(
        said(csv("t [s],pickup,coil\n0,0,0\n1,0.2,0\n").unwrap_err()).contains("line 3: `0.2` in column 2 is no level")
    );
    assert!(said(csv("t [s],pickup,coil\n0,0,0\n-1,0,0\n").unwrap_err()).contains("runs backwards"));
    assert!(said(csv("t [s],pickup,coil\nx,0,0\n").unwrap_err()).contains("`x` is no time"));
    assert!(said(csv("t [s],pickup,coil,coil\n").unwrap_err()).contains("several signals"));
}

#[test]
fn a_signal_is_found_by_its_own_name_or_with_its_scopes() {
    let find = |pickup: &str, coil: &str| {
        let names = Names { pickup: pickup.to_owned(), coil: coil.to_owned() };
        let twice = HEAD.replace(
            "$upscope $end\n",
            "$upscope $end\n$scope module other $end\n$var wire 1 % coil $end\n$upscope $end\n",
        );
        vcd_edges(twice.as_bytes(), &names).map(|_| ()).map_err(|error| error.to_string())
    };
    assert_eq!(find("pickup", "board.coil"), Ok(()));
    assert_eq!(find("board.pickup", "other.coil"), Ok(()));
    assert_eq!(find("pickup", "coil").unwrap_err(), "trace.vcd: several signals are called `coil`");
    assert_eq!(
        find("pickup", "board.pickup").unwrap_err(),
        "trace.vcd: pickup and coil are the same signal `board.pickup`"
    );
    let missing = find("bus", "other.coil").unwrap_err();
    assert_eq!(missing, "trace.vcd: there is no signal `bus`; it has board.pickup, board.coil, other.coil");
}

/// Four pulses in two turns at 1 000 crank rpm, each so many picoseconds longer than the one before.
fn steady_flanks(count: u64, longer_ps: u64) -> Vec<Edge> {
    let mut edges = Vec::new();
    let mut at_ps = 0;
    for pulse in 0..count {
        edges.push(Edge { at_ps, line: Line::Pickup, rises: false });
        edges.push(Edge { at_ps: at_ps + 10_000_000_000, line: Line::Pickup, rises: true });
        at_ps += 30_000_000_000 + longer_ps * pulse;
    }
    edges
}

fn heard(edges: &[Edge]) -> (Vec<Block>, Vec<SteadySpeed>) {
    let mut listener = Listener::new(4, false, 3);
    let (mut blocks, mut ends) = (Vec::new(), Vec::new());
    for edge in edges {
        match listener.hear(*edge) {
            Some(Heard::Block(block)) => blocks.push(block),
            Some(Heard::Ended(ended)) => ends.push(ended),
            None => {}
        }
    }
    if let Some(Heard::Ended(ended)) = listener.end() {
        ends.push(ended);
    }
    (blocks, ends)
}

#[test]
fn a_steady_stretch_is_cut_into_blocks_that_follow_each_other() {
    let (blocks, ends) = heard(&steady_flanks(60, 0));
    assert!(blocks.len() >= 3, "{}", blocks.len());
    for block in &blocks {
        assert!((block.speed_crank_rpm - 1000.0).abs() < 1e-6);
        assert_eq!(block.to_ps - block.from_ps, 12 * 30_000_000_000);
        assert_eq!(block.first_pulse, (block.from_ps / 30_000_000_000 % 4) as usize);
    }
    assert!(blocks.windows(2).all(|pair| pair[1].from_ps == pair[0].to_ps));
    assert_eq!(ends.len(), 1);
    assert_eq!(ends[0].blocks, blocks.len());
}

#[test]
fn a_speed_that_changes_is_not_steady() {
    // Half a per cent from pulse to pulse: 2 % in a cycle.
    let (blocks, ends) = heard(&steady_flanks(200, 150_000_000));
    assert!(blocks.is_empty() && ends.is_empty(), "{} blocks", blocks.len());
}

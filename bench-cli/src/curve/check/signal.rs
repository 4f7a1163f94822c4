//! Whether a coil's signal is strong enough at the starter's slowest moment.
//!
//! The voltage of a coil past which a magnet moves grows with the speed (Faraday's law of induction), so below some speed its conditioner
//! gives no flank. Nothing is unsafe there: a pulse that is not whole makes no spark. But the engine does not start.

use crate::curve::sparks::swing;
use crate::sheet::{PickupKind, Sheet, SheetError, driven};
use crate::words::number::{short, whole};
use bobweight::quantity::Swing;

/// Warns of a starter that turns the crank too slowly, at its best and where it goes over a compression.
///
/// # Errors
/// Where the sheet does not say what tells it.
pub(super) fn too_weak(sheet: &Sheet, warnings: &mut Vec<String>) -> Result<(), SheetError> {
    let pickup = &sheet.pickup;
    if pickup.kind.value() != Some(&PickupKind::Coil) || driven(sheet).is_err() {
        return Ok(());
    }
    let signal_from = *pickup.signal_from_crank_rpm.get()?;
    let mean = *sheet.starter.speed_crank_rpm.get()?;
    let swing = f64::from(swing(sheet).bits()) / f64::from(Swing::STEP);
    // The slowest moment is the mean over the root of the swing, as the fastest is the mean times it.
    let slowest = mean / swing.sqrt();
    if signal_from > slowest {
        warnings.push(format!(
            "the pickup's signal is too weak for the starter: its conditioner gives flanks from {} crank rpm on, and at {} crank rpm over \
             whole compressions, its speed swinging by {} to 1, the starter turns the crank at {} at its slowest, near the zero crossing. \
             Pulses that are not whole make no spark, so the engine may not start, and a cold one or a weak battery turns slower still. \
             Bring the pole nearer, let the conditioner answer to less, or better the starter's supply",
            whole(signal_from),
            whole(mean),
            short(swing, 2),
            whole(slowest)
        ));
    }
    Ok(())
}

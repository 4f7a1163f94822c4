/// Takes the value out of a constructor's answer in a constant, and makes its refusal a compile error.
///
/// ```compile_fail
/// use bobweight::{must, quantity::Advance};
/// // 91 crank degrees are no advance.
/// const ADVANCE: Advance = must!(Advance::from_degrees(91));
/// ```
#[macro_export]
macro_rules! must {
    ($constructor:expr) => {
        match $constructor {
            Ok(value) => value,
            Err(error) => panic!("{}", error.message()),
        }
    };
}

package android.os;

/** Vibrates, unless the manifest does not ask for it. */
public abstract class Vibrator {
    public String vibrated = "";
    public boolean isNotPermitted = false;

    public void vibrate(VibrationEffect vibe) {
        if (isNotPermitted) throw new SecurityException("Requires VIBRATE permission");
        vibrated += vibe.told + ";";
    }
}

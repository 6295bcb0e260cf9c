package android.os;

public abstract class VibrationEffect {
    public static final int DEFAULT_AMPLITUDE = -1;

    String told;

    public static VibrationEffect createOneShot(long milliseconds, int amplitude) {
        if (milliseconds <= 0 || amplitude == 0 || amplitude < -1 || amplitude > 255) {
            throw new IllegalArgumentException("no such vibration");
        }
        VibrationEffect made = new VibrationEffect() {};
        made.told = milliseconds + " ms at " + amplitude;
        return made;
    }
}
